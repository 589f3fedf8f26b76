package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/finding"
)

func (a *app) diffCommand() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "diff OLD NEW",
		Short: "says what changes between two plans: slots, divisions, units and cards",
		Long: `diff compares two plans, as of two operational periods, and says what changes:
for each list slot by slot, for each division, and for each unit and card. A
radio's list must be built anew only where what is programmed differs at some
slot; where use or divisions alone differ, the list stays, but the read-back
code is another one.

The old list of a card is the one that its unit carried. A seat that the old plan
does not have, and every seat where incident or load is another one, builds the
list for the first time. Number and hours of the period do not count as a change.

Exit status: 0 the same, 1 something differs, 2 a file that cannot be read, or a
plan with errors.

--json prints one document:
  {"same": false, "other_incident": false, "other_load": false, "backwards": false,
   "also_changed": false,
   "old": {"file", "incident", "number", "period", "from", "to", "load", "edition"},
   "new": {...},
   "lists": [{"name", "old_code", "new_code", "old_length", "new_length",
     "slots":  [{"change": ["added"], "old_position", "new_position", "old": {"name",
                 "use", "divisions", "rx_mhz", "tx_mhz", "rx_tone", "tx_tone", "mode",
                 "width", "system", "talkgroup"}, "new": {...}}],
     "shifts": [{"from", "to", "by"}], "rebuild": [2], "clear": [9]}],
   "divisions": [{"id", "change": ["new"], "old_channels", "new_channels",
                 "old_neighbours", "new_neighbours", "old_name", "new_name",
                 "old_supervisor", "new_supervisor"}],
   "units":     [{"name", "change": ["rebuild"], "old_division", "new_division",
                 "old_code", "new_code", "rebuild": [2], "clear": [9],
     "cards":   [{"number", "old_number", "position", "nth", "of", "change": ["rebuild"],
                 "talk": {"now": [{"position", "name"}], "before": [...]},
                 "priority": {...}, "scan": {...}}],
     "cards_gone": [{"number", "position", "nth"}]}],
   "counts":    {"cards", "first", "rebuild", "listen", "code", "replace", "keep", "gone"},
   "findings":  [...]}
A slot changes by added, removed, moved, retuned, replaced, reassigned; a division
by new, gone, channels, neighbours, name, supervisor; a unit or card by first,
rebuild, code, listen, division, also, a unit by gone and seats as well; empty
means unchanged. Positions count from 1; 0 is none. Where a plan has errors, only
"old" and "new" with "file", and "findings" are there.`,
		Example: `  slotcard diff period-2.toml period-3.toml`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return usagef("name the old plan and the new one, such as: slotcard diff period-2.toml period-3.toml")
			}
			return atMost(2, "two plans")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.runDiff(args[0], args[1], asJSON, a.depth(cmd))
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	cmd.Flags().Bool("long", false, "show findings with line, what to do and details, as on a terminal")
	return cmd
}

func (a *app) runDiff(oldName, newName string, asJSON bool, d depth) error {
	doc := diffReport{Old: diffPlan{File: filepath.Clean(oldName)}, New: diffPlan{File: filepath.Clean(newName)}}
	var plans [2]*plan.Resolved
	var errs []error
	for i, name := range []string{doc.Old.File, doc.New.File} {
		r, found, err := a.sound(name)
		plans[i] = r
		doc.Findings.Add(found...)
		if err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) > 0 {
		a.voice.findings(doc.Findings, d)
		return errors.Join(errs...)
	}
	if plans[0] == nil || plans[1] == nil {
		doc.Findings.Sort()
		if asJSON {
			if err := a.voice.json(map[string]any{"old": map[string]string{"file": doc.Old.File},
				"new": map[string]string{"file": doc.New.File}, "findings": doc.Findings}); err != nil {
				return err
			}
		} else {
			a.voice.findings(doc.Findings, d)
		}
		if err := a.voice.flush(); err != nil {
			return err
		}
		a.voice.tell("nothing compared: %s", tally(doc.Findings))
		return errTold
	}
	c := changes.Between(plans[0], plans[1])
	if asJSON {
		doc.fill(c)
		if err := a.voice.json(doc); err != nil {
			return err
		}
	} else {
		a.voice.changes(c)
	}
	if !c.Empty() {
		return errFindings
	}
	return nil
}

// sound reads a plan that must have no errors: they are returned, and then the
// plan is nil. What is less grave is left to check.
func (a *app) sound(name string) (*plan.Resolved, finding.List, error) {
	if err := a.onePlan(name); err != nil {
		return nil, nil, err
	}
	r, found, err := a.open(name)
	found = slices.DeleteFunc(found, func(f finding.Finding) bool { return f.Severity != finding.Error })
	if err != nil || len(found) > 0 {
		return nil, found, err
	}
	return r, nil, nil
}

// changes prints what changes between two plans. The last line tells whether
// anything does.
func (v *voice) changes(c *changes.Changes) {
	w := &layout.EnglishChanges
	for i, part := range w.Text(c) {
		indent := ""
		if i > 0 {
			fmt.Fprintf(v.out, "\n%s\n", printable(part.Title))
			indent = "  "
		}
		for _, l := range part.Lines {
			fmt.Fprintln(v.out, hanging(printable(l), indent))
		}
	}
	if c.Empty() {
		fmt.Fprint(v.out, "\nthe same\n")
		return
	}
	fmt.Fprintf(v.out, "\n%s\n", hanging(cardTally(c.Counts()), ""))
}

// cardTally says what becomes of the cards, in a line.
func cardTally(n changes.Counts) string {
	var parts []string
	for _, p := range []struct {
		n    int
		said string
	}{
		{n.Rebuild, "rebuild the list"}, {n.First, "build it for the first time"}, {n.Listen, "listen elsewhere"},
		{n.Code, "have another read-back code"}, {n.Gone, "of the old ones have no seat any more"},
	} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.said))
		}
	}
	said := fmt.Sprintf("%d of %s must be replaced", n.Replace, count(n.Cards, "card", "cards"))
	if len(parts) > 0 {
		said += ": " + strings.Join(parts, ", ")
	}
	return said
}

// hanging breaks a text into lines of at most 80 characters, those behind the
// first two deeper than the indent. A no-break space stays a space.
func hanging(text, indent string) string {
	var b strings.Builder
	column := 0
	for i, word := range strings.Split(text, " ") {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			b.WriteString(indent)
			column = len(indent)
		case column+1+n > 80:
			b.WriteString("\n" + indent + "  ")
			column = len(indent) + 2
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(strings.ReplaceAll(word, "\u00a0", " "))
		column += n
	}
	return b.String()
}

// diffReport is the JSON document of a diff. Field names stay.
type diffReport struct {
	Same          bool           `json:"same"`
	OtherIncident bool           `json:"other_incident"`
	OtherLoad     bool           `json:"other_load"`
	Backwards     bool           `json:"backwards"`
	AlsoChanged   bool           `json:"also_changed"`
	Old           diffPlan       `json:"old"`
	New           diffPlan       `json:"new"`
	Lists         []diffList     `json:"lists"`
	Divisions     []diffDivision `json:"divisions"`
	Units         []diffUnit     `json:"units"`
	Counts        diffCounts     `json:"counts"`
	Findings      finding.List   `json:"findings"`
}

type diffPlan struct {
	File     string    `json:"file"`
	Incident string    `json:"incident"`
	Number   string    `json:"number"`
	Period   int       `json:"period"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Load     string    `json:"load"`
	Edition  string    `json:"edition"`
}

type diffList struct {
	Name      string      `json:"name"`
	OldCode   string      `json:"old_code"`
	NewCode   string      `json:"new_code"`
	OldLength int         `json:"old_length"`
	NewLength int         `json:"new_length"`
	Slots     []diffSlot  `json:"slots"`
	Shifts    []diffShift `json:"shifts"`
	Rebuild   []int       `json:"rebuild"`
	Clear     []int       `json:"clear"`
}

type diffSlot struct {
	Change      []string   `json:"change"`
	OldPosition int        `json:"old_position"`
	NewPosition int        `json:"new_position"`
	Old         *diffTuned `json:"old"`
	New         *diffTuned `json:"new"`
}

type diffTuned struct {
	Name      string   `json:"name"`
	Use       string   `json:"use"`
	Divisions []string `json:"divisions"`
	Rx        string   `json:"rx_mhz"`
	Tx        string   `json:"tx_mhz"`
	RxTone    string   `json:"rx_tone"`
	TxTone    string   `json:"tx_tone"`
	Mode      string   `json:"mode"`
	Width     string   `json:"width"`
	System    string   `json:"system"`
	Talkgroup string   `json:"talkgroup"`
}

type diffShift struct {
	From int `json:"from"`
	To   int `json:"to"`
	By   int `json:"by"`
}

type diffPlace struct {
	Position int    `json:"position"`
	Name     string `json:"name"`
}

type diffDivision struct {
	ID            string      `json:"id"`
	Change        []string    `json:"change"`
	OldChannels   []diffPlace `json:"old_channels"`
	NewChannels   []diffPlace `json:"new_channels"`
	OldNeighbours []string    `json:"old_neighbours"`
	NewNeighbours []string    `json:"new_neighbours"`
	OldName       string      `json:"old_name"`
	NewName       string      `json:"new_name"`
	OldSupervisor string      `json:"old_supervisor"`
	NewSupervisor string      `json:"new_supervisor"`
}

type diffUnit struct {
	Name        string     `json:"name"`
	Change      []string   `json:"change"`
	OldDivision string     `json:"old_division"`
	NewDivision string     `json:"new_division"`
	OldCode     string     `json:"old_code"`
	NewCode     string     `json:"new_code"`
	Rebuild     []int      `json:"rebuild"`
	Clear       []int      `json:"clear"`
	Cards       []diffCard `json:"cards"`
	CardsGone   []diffGone `json:"cards_gone"`
}

type diffCard struct {
	Number    int      `json:"number"`
	OldNumber int      `json:"old_number"`
	Position  string   `json:"position"`
	Nth       int      `json:"nth"`
	Of        int      `json:"of"`
	Change    []string `json:"change"`
	Talk      diffEar  `json:"talk"`
	Priority  diffEar  `json:"priority"`
	Scan      diffEar  `json:"scan"`
}

type diffEar struct {
	Now    []diffPlace `json:"now"`
	Before []diffPlace `json:"before"`
}

type diffGone struct {
	Number   int    `json:"number"`
	Position string `json:"position"`
	Nth      int    `json:"nth"`
}

type diffCounts struct {
	Cards   int `json:"cards"`
	First   int `json:"first"`
	Rebuild int `json:"rebuild"`
	Listen  int `json:"listen"`
	Code    int `json:"code"`
	Replace int `json:"replace"`
	Keep    int `json:"keep"`
	Gone    int `json:"gone"`
}

// fill writes changes into the report. Lists that are empty are [], not null.
func (doc *diffReport) fill(c *changes.Changes) {
	doc.Same = c.Empty()
	doc.OtherIncident, doc.OtherLoad, doc.Backwards, doc.AlsoChanged = c.OtherIncident, c.OtherLoad, c.Backwards, c.Also
	doc.Old.fill(c.Old)
	doc.New.fill(c.New)
	doc.Counts = diffCounts(c.Counts())
	doc.Lists, doc.Divisions, doc.Units, doc.Findings = []diffList{}, []diffDivision{}, []diffUnit{}, finding.List{}
	for _, l := range c.Lists {
		out := diffList{Name: c.Name(l), Slots: []diffSlot{}, Shifts: []diffShift{}, Rebuild: orEmpty(l.Rebuild), Clear: orEmpty(l.Clear)}
		out.OldCode, out.OldLength = codeOf(l.Old)
		out.NewCode, out.NewLength = codeOf(l.New)
		for _, s := range l.Slots {
			slot := diffSlot{OldPosition: s.Was, NewPosition: s.Is, Old: tunedOf(s.Old), New: tunedOf(s.New)}
			for _, k := range s.Kinds {
				slot.Change = append(slot.Change, k.String())
			}
			out.Slots = append(out.Slots, slot)
		}
		for _, s := range l.Shifts {
			out.Shifts = append(out.Shifts, diffShift(s))
		}
		doc.Lists = append(doc.Lists, out)
	}
	for _, d := range c.Divisions {
		out := diffDivision{ID: d.ID(), OldChannels: placesOf(d.WasOn), NewChannels: placesOf(d.IsOn),
			OldNeighbours: orEmpty(d.WasNear), NewNeighbours: orEmpty(d.IsNear)}
		if d.Old != nil {
			out.OldName, out.OldSupervisor = d.Old.Name, d.Old.Supervisor
		}
		if d.New != nil {
			out.NewName, out.NewSupervisor = d.New.Name, d.New.Supervisor
		}
		out.Change = words(d.Old == nil, "new", d.New == nil, "gone", d.Channels, "channels", d.Neighbours, "neighbours",
			d.Named, "name", d.Commanded, "supervisor")
		doc.Divisions = append(doc.Divisions, out)
	}
	for _, u := range c.Units {
		doc.Units = append(doc.Units, unitOf(c, u))
	}
}

func unitOf(c *changes.Changes, u *changes.Unit) diffUnit {
	out := diffUnit{Name: u.Name(), Rebuild: orEmpty(u.Rebuild), Clear: orEmpty(u.Clear), Cards: []diffCard{}, CardsGone: []diffGone{}}
	out.OldCode, _ = codeOf(u.OldList)
	out.NewCode, _ = codeOf(u.List)
	if u.Old != nil {
		out.OldDivision = u.Old.Division
	}
	if u.New != nil {
		out.NewDivision = u.New.Division
	}
	listen, seats := false, len(u.Gone) > 0
	for _, card := range u.Cards {
		listens := !card.First && card.Listen()
		listen = listen || listens
		seats = seats || card.First && !u.First
		k := diffCard{Number: card.New.Number, Position: card.New.Position.Name, Nth: card.New.Nth, Of: card.New.Of,
			Change: words(card.First, "first", card.Rebuild(), "rebuild", card.Code(), "code", listens, "listen",
				u.Elsewhere(), "division", c.Also, "also"),
			Talk: earOf(card.Talk), Priority: earOf(card.Priority), Scan: earOf(card.Scan)}
		if card.Old != nil {
			k.OldNumber = card.Old.Number
		}
		out.Cards = append(out.Cards, k)
	}
	for _, card := range u.Gone {
		out.CardsGone = append(out.CardsGone, diffGone{card.Number, card.Position.Name, card.Nth})
	}
	out.Change = words(u.New == nil, "gone", u.First, "first", !u.First && u.Changed(), "rebuild", !u.First && u.Code(), "code",
		listen, "listen", u.Elsewhere(), "division", c.Also && u.New != nil, "also", seats && u.New != nil, "seats")
	return out
}

// words are the words whose condition holds, out of pairs of both.
func words(pairs ...any) []string {
	out := []string{}
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i].(bool) {
			out = append(out, pairs[i+1].(string))
		}
	}
	return out
}

func (p *diffPlan) fill(r *plan.Resolved) {
	in := r.Plan.Incident
	p.Incident, p.Number, p.Period, p.From, p.To = in.Name, in.Number, in.Period, in.From, in.To
	p.Load, p.Edition = r.Load.About.Name, r.Load.About.Edition
}

func codeOf(l *plan.List) (code string, length int) {
	if l == nil {
		return "", 0
	}
	return string(l.Code), len(l.Slots)
}

func tunedOf(s *plan.ResolvedSlot) *diffTuned {
	if s == nil {
		return nil
	}
	t := &diffTuned{Name: s.Channel.Name, Use: s.Use.String(), Divisions: []string{}, System: s.Channel.System, Talkgroup: s.Channel.Talkgroup,
		RxTone: s.Channel.RxTone.String(), TxTone: s.TxTone.String(), Mode: s.Channel.Mode.String(), Width: s.Channel.Width.String()}
	if !s.Channel.Trunked() {
		t.Rx, t.Tx = s.Channel.Rx.String(), s.Channel.Tx.String()
	}
	for _, d := range s.Users {
		t.Divisions = append(t.Divisions, d.ID)
	}
	return t
}

func placesOf(places []changes.Place) []diffPlace {
	out := make([]diffPlace, len(places))
	for i, p := range places {
		out[i] = diffPlace{p.Position, p.Slot.Channel.Name}
	}
	return out
}

func earOf(e changes.Ear) diffEar { return diffEar{placesOf(e.Now), placesOf(e.Before)} }

func orEmpty[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}
