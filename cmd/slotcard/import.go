package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/channellist"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

func init() { registerCommand(15, (*app).importCommand) }

// importFlags are the flags of import.
type importFlags struct {
	out          string
	force, yes   bool
	maps         []string
	sites, tones []string
	since        string
	answers      channellist.Answers
}

func (a *app) importCommand() *cobra.Command {
	var f importFlags
	cmd := &cobra.Command{
		Use:   "import SHEET...",
		Short: "makes a load of an agency's channel list: XLSX, ODS, CSV or pasted text",
		Long: `import makes a load of an agency's channel list, with any titles in any order, or
without. SHEET is XLSX, ODS, CSV or text; - is standard input, for text that was
copied. Groups (zones) come from a column, from lines among the channels, from
sheets, or from files, one a group.

Titles help and contents decide what a column holds. What was found is printed,
and on a terminal it is asked whether it is right; --map "Svc=use" says it for a
column by its title or letter, and --map "Svc=-" that it is not to be read. A
column of channels holds one of: group, group_number, number, name, use, rx, tx,
offset, rx_tone, tx_tone, tone (both ways), mode, width, receive_only, system,
talkgroup, remarks, site. Tables of sites and of numbered tones may stand on further
sheets, or in files of their own: a column of sites holds one of site_name,
site_tone, latitude, longitude, latitude_longitude, elevation_m, elevation_ft,
channels, and one of tones tone_number or tone_hz.

The use of a channel comes from a column, from its name, or from a remark; how
many of each is printed. No sheet says whose load it is, its edition, the color
of the label, its dates, how many positions a list has, and which display name
carries the edition: flags say it, or answers on a terminal.

Nothing is lost in silence. Every cell is used, or listed as not read; what a
person must decide says DECIDE in the load, and slotcard check points at it.

Exit status: 0 imported, even where something is to be decided, 2 wrong usage,
or a file that cannot be read or written.`,
		Example: `  slotcard import channels.xlsx -o load.toml
  slotcard import local.csv national.csv --sites sites.csv --tones tones.csv -o load.toml
  slotcard import --since load-2027.toml channels-2028.xlsx -o load-2028.toml`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("name the channel list, such as: slotcard import channels.xlsx -o load.toml")
			}
			if n := slices.Index(args, files.Stdin); n >= 0 && slices.Contains(args[n+1:], files.Stdin) {
				return usagef("standard input can be read once")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return a.runImport(cmd.Context(), args, f) },
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"xlsx", "ods", "csv", "tsv", "txt"}, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	flags.StringVarP(&f.out, "out", "o", "", "write the load to `FILE`")
	flags.BoolVar(&f.force, "force", false, "overwrite the file")
	flags.BoolVar(&f.yes, "yes", false, "ask nothing, also on a terminal")
	flags.StringArrayVar(&f.maps, "map", nil, "`COLUMN=FIELD`: what a column holds, such as \"Svc=use\" or J=use; may be repeated")
	flags.StringArrayVar(&f.sites, "sites", nil, "`FILE` with the table of repeater sites")
	flags.StringArrayVar(&f.tones, "tones", nil, "`FILE` with the table of numbered tones")
	flags.StringVar(&f.since, "since", "", "last year's `LOAD`: says what changed, and keeps what was decided there")
	flags.StringVar(&f.answers.Name, "name", "", "`NAME` of whose load it is")
	flags.StringVar(&f.answers.Edition, "edition", "", "`EDITION`, usually the year")
	flags.StringVar(&f.answers.Color, "color", "", "`COLOR` of the label on the radio")
	flags.StringVar(&f.answers.Effective, "effective", "", "first `DAY` on which it is valid, such as 2027-03-01")
	flags.StringVar(&f.answers.Expires, "expires", "", "last `DAY`")
	flags.IntVar(&f.answers.ListPositions, "list-positions", 0, "`NUMBER` of positions in a list that a user can build")
	flags.StringVar(&f.answers.EditionChannel, "edition-channel", "", "display `NAME` that carries the edition")
	return cmd
}

// options checks the flags.
func (f importFlags) options() (o channellist.Options, err error) {
	for _, m := range f.maps {
		mapping, err := channellist.ParseMapping(m)
		if err != nil {
			return o, usagef("--map %s", err)
		}
		o.Map = append(o.Map, mapping)
	}
	for _, d := range []struct{ flag, day string }{{"effective", f.answers.Effective}, {"expires", f.answers.Expires}} {
		if _, err := time.Parse(time.DateOnly, d.day); d.day != "" && err != nil {
			return o, usagef("flag --%s cannot be %q; write a day, such as 2027-03-01", d.flag, d.day)
		}
	}
	if n := f.answers.ListPositions; n < 0 || n > 1000 {
		return o, usagef("flag --list-positions cannot be %d", n)
	}
	return o, nil
}

func (a *app) runImport(ctx context.Context, names []string, f importFlags) error {
	o, err := f.options()
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := draftTarget(f.out, f.force, slices.Concat(names, f.sites, f.tones, []string{f.since})...); err != nil {
			return err
		}
	}
	var old *plan.Load
	if f.since != "" {
		if old, err = a.load(f.since); err != nil {
			return err
		}
		o.Tones = old.Tones
	}
	l, err := a.channelList(ctx, names, f.sites, f.tones, o)
	if err != nil {
		return err
	}
	report.Mapping(a.voice, l)
	f.answers.Said(l)
	if ask := a.asker(ctx); ask != nil && !f.yes && !slices.Contains(names, files.Stdin) {
		if ok, err := ask.yes("is this what the columns hold?"); err != nil || !ok {
			if err == nil {
				err = usagef(`say it with --map, such as --map "Svc=use"; nothing was written`)
			}
			return err
		}
		if old != nil {
			f.answers.Keep(old)
		}
		if err := ask.answers(&f.answers, l, old != nil); err != nil {
			return err
		}
	}
	d, changes, err := l.Draft(f.answers, old)
	if err != nil {
		return usagef("flag --edition-channel %s", err)
	}
	return a.writeLoad(ctx, l, d, f, changes)
}

// channelList reads the files of a channel list.
func (a *app) channelList(ctx context.Context, names, sites, tones []string, o channellist.Options) (*channellist.List, error) {
	var sources []channellist.Source
	for _, part := range []struct {
		names []string
		role  channellist.Role
	}{{names, channellist.Anything}, {sites, channellist.SiteTable}, {tones, channellist.ToneTable}} {
		for _, name := range part.names {
			data, err := a.sheet(ctx, name)
			if err != nil {
				return nil, err
			}
			switch kind, own := plan.OwnFile(name, data); {
			case own && kind == plan.LoadFile:
				return nil, usagef("%s is a load already; to check it, type: slotcard check %s", voice.Typed(name), voice.Typed(name))
			case own:
				return nil, usagef("%s is a %s, not a channel list; to check it, type: slotcard check %s", voice.Typed(name), kind, voice.Typed(name))
			}
			book, err := cells.Read(data, name)
			if err != nil {
				return nil, files.Fail(name, err.Error(), err)
			}
			sum := sha256.Sum256(data)
			sources = append(sources, channellist.Source{Name: files.Shown(filepath.Base(name)), Sum: hex.EncodeToString(sum[:]), Book: book, Role: part.role})
		}
	}
	l, err := channellist.Read(sources, o)
	if err != nil {
		return nil, files.Fail(names[0], err.Error(), err)
	}
	return l, nil
}

// sheet is the bytes of a sheet.
func (a *app) sheet(ctx context.Context, name string) ([]byte, error) {
	if name == files.Stdin {
		return files.ReadStdin(ctx, a.reader.Stdin(), cells.MaxFile)
	}
	return files.ReadRegular(filepath.Clean(name), cells.MaxFile)
}

// writeLoad writes the load and says what came of it.
func (a *app) writeLoad(ctx context.Context, l *channellist.List, d *channellist.Draft, f importFlags, changes []channellist.Pair) error {
	if len(d.TOML) > files.MaxTOML {
		return files.Fail(cmp.Or(f.out, "the load"), files.TooLarge(files.MaxTOML)+", and check would not read it: import the list in parts", nil)
	}
	if f.out == "" {
		a.voice.Raw("%s", d.TOML)
		if err := a.voice.Flush(); err != nil {
			return err
		}
	} else {
		over := publish.Nothing
		if f.force {
			over = publish.Any
		}
		dir, base := filepath.Split(f.out)
		if err := publish.All(ctx, filepath.Clean(dir+"."), []publish.File{{Name: base, Data: d.TOML}}, over); err != nil {
			return err
		}
		found, err := checkImported(f.out, d.TOML, a.planOptions())
		if err != nil {
			return err
		}
		found = slices.DeleteFunc(found, func(f finding.Finding) bool { // told below, with what there is to know
			return f.Severity == finding.Error && slices.ContainsFunc(d.Open, func(o channellist.Undecided) bool { return o.Line == f.Place.Line })
		})
		report.Groups(a.voice, l)
		report.ByRule(a.voice, found)
		if err := a.voice.Flush(); err != nil {
			return err
		}
	}
	report.Changed(a.voice, changes)
	report.Imported(a.voice, l, d, f.out)
	return nil
}

// checkImported checks the load that was written, without reading it again.
func checkImported(name string, data []byte, o plan.Options) (finding.List, error) {
	o.ReadFile = func(string) ([]byte, error) { return data, nil }
	_, found, err := rules.OpenLoad(name, o)
	return found, err
}

// against proves a load row by row against sheets: check --against.
func (a *app) against(ctx context.Context, name string, sheets []string) (finding.List, error) {
	load, err := a.load(name)
	if err != nil {
		return nil, err
	}
	l, err := a.channelList(ctx, sheets, nil, nil, channellist.Options{Tones: load.Tones})
	if err != nil {
		return nil, err
	}
	report.Mapping(a.voice, l)
	report.NotRead(a.voice, l)
	var found finding.List
	proofs := l.Against(load)
	for _, p := range proofs {
		follows := p.Key == "tx" && p.Channel != nil && !p.Channel.Has("tx") && // a direct channel transmits where it receives
			slices.ContainsFunc(proofs, func(o channellist.Proof) bool { return o.Key == "rx" && o.Channel == p.Channel })
		if !follows {
			found.Add(differs(name, load, p))
		}
	}
	return found, nil
}

// differs is a row that differs, as a finding at the channel of the load.
func differs(name string, load *plan.Load, p channellist.Proof) finding.Finding {
	f := finding.Finding{
		Rule: rules.RuleAgainstSheet, Severity: finding.Error, Place: finding.Place{File: name}, Message: p.Message,
		Help: []string{"correct the load, or have the sheet corrected; the radio has to be as both say"},
	}
	if p.At.Row > 0 {
		f.Message += " (" + p.At.String() + ")"
	}
	switch {
	case p.Channel == nil:
		f.Place = load.About.At("")
	case p.Channel.Has(p.Key):
		f.Place, f.Subject = p.Channel.At(p.Key), p.Channel.Name
	default:
		f.Place, f.Subject = p.Channel.At("name"), p.Channel.Name
	}
	return f
}
