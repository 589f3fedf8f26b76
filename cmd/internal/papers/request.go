package papers

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/words"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// Request is what is asked of a print, as its flags say it.
type Request struct {
	Size, Paper         string // "": as the plan says, or the usual
	Sides, Order, Sort  string
	Language            string
	Words               string // the table of words to print with; "": as slotcard says them
	Copies              int
	Bleed               float64 // mm beyond the card on each side
	Edge                float64 // mm from the edge of the paper that the printer reaches; 0: as the plan says, or the usual
	Roll                string  // width, or width x height of labels, mm or with "in"; "": sheets of paper
	Gap                 float64 // mm between cards of an endless roll
	DPI                 int     // of the printer of the roll
	Plain, PNG, CSV     bool
	NoAttach            bool   // leave out of the PDFs what they are made from
	Since               string // the plan to compare with; "": none
	ChangedOnly, Strict bool

	units, teams, divisions []string // of the cards that are printed; none: all

	Papers []*Paper // with their own flags
	Given  []string // names of all flags that are given
}

// Flags is where flags are defined; Complete says which words one may have.
type Flags struct {
	*pflag.FlagSet
	Complete func(flag string, words []string)
}

// NewRequest is one of which nothing is asked yet, and its flags.
func NewRequest(f Flags) *Request {
	r := &Request{Papers: All()}
	f.StringVar(&r.Size, "size", "", "card `SIZE`: "+strings.Join(SizeNames(layout.CardSizes()), ", ")+",\nor width x height in mm, such as 90x55\n(default: the plan's, or the one that holds most on the fewest sheets)")
	f.StringVar(&r.Paper, "paper", "", "paper `SIZE`: "+strings.Join(SizeNames(layout.PaperSizes()), ", ")+"\n(default: the plan's, or "+layout.DefaultPaper+")")
	f.StringVar(&r.Sides, "sides", "", "`WAY` in which front and back come onto paper:\nlong or short (both sides, flipped on that edge), fold (one side, to fold),\nfront (one side, fronts only), each (a card a page, for card printers)")
	f.StringVar(&r.Order, "order", "", "`ORDER` on the sheets: sheet (row by row), or stack (piles lie in order after cutting)")
	f.StringVar(&r.Sort, "sort", "", "`ORDER` of the cards: unit (as in the plan), team or seat")
	f.StringVar(&r.Language, "language", "", "`LANGUAGE` of the fixed words: en, es or fr (default: the plan's, or en)")
	f.StringVar(&r.Words, "words", "", "print with the fixed words of a table, a `FILE` that slotcard words wrote")
	for _, ask := range Asked {
		f.StringArrayVar(ask.to(r), ask.Flag, nil, ask.help)
	}
	f.IntVar(&r.Copies, "copies", 1, "`N` copies of each card")
	f.Var(&measure{&r.Bleed, "mm"}, "bleed", "`MM` of paper beyond the card on each side, up to 3, with --sides each")
	f.Var(&measure{&r.Edge, "mm"}, "edge", "`MM` from the edge of the paper that the printer reaches, 3 to 15\n(default: the plan's, or 6.35): the nearer, the more cards may go on a sheet")
	f.StringVar(&r.Roll, "roll", "", "for a label printer, a side of a card, or a strip, a page: the `WIDTH` of an endless roll in mm,\nor width x height of its labels, such as 62, 102x152 or 4x6in; with --dpi;\nnone: sheets of paper, where the plan asks for a roll")
	f.Var(&measure{&r.Gap, "mm"}, "gap", "`MM` of white between cards of an endless roll")
	f.IntVar(&r.DPI, "dpi", 0, "`DOTS` an inch of the printer of the roll, such as 203 or 300")
	f.BoolVar(&r.Plain, "plain", false, "frames in place of black fills, to save toner")
	f.BoolVar(&r.PNG, "png", false, "write pictures: of each card its front, and front and code for a phone held upright;\nof each list its back; and of every page of the sheets")
	f.BoolVar(&r.CSV, "csv", false, "write wall.csv as well: the list in the columns of form ICS 205, block 4")
	f.BoolVar(&r.NoAttach, "no-attach", false, "do not attach plan, load and station file to the PDFs")
	f.StringVar(&r.Since, "since", "", "say on each card what changes since the plan `OLD`, and write a change sheet")
	f.BoolVar(&r.ChangedOnly, "changed-only", false, "with --since: print only the cards that must be replaced")
	for _, p := range r.Papers {
		if !p.Load {
			p.addFlag(f)
		}
		if p.flags != nil {
			p.flags(f)
		}
	}
	f.Complete("size", SizeNames(layout.CardSizes()))
	f.Complete("paper", SizeNames(layout.PaperSizes()))
	f.Complete("sides", impose.SidesNames())
	f.Complete("order", impose.OrderNames())
	f.Complete("sort", sortNames())
	f.Complete("language", words.Languages())
	return r
}

// Ask is the request that flags with these values make; an error is a flag that there
// is not, or a value that it cannot have.
func Ask(flags map[string]string) (*Request, error) {
	set := pflag.NewFlagSet("print", pflag.ContinueOnError)
	r := NewRequest(Flags{set, func(string, []string) {}})
	for name, value := range flags {
		if err := set.Set(name, value); err != nil {
			return nil, err
		}
		r.Given = append(r.Given, name)
	}
	slices.Sort(r.Given)
	return r, nil
}

// SizeNames are what sizes are called.
func SizeNames(sizes []layout.Size) []string {
	names := make([]string, len(sizes))
	for i, s := range sizes {
		names[i] = s.Name
	}
	return names
}

// asks tells whether a flag is given.
func (f *Request) asks(flag string) bool { return slices.Contains(f.Given, flag) }

// Named tells whether any paper is asked for by its flag.
func (f *Request) Named() bool {
	return slices.ContainsFunc(f.Papers, func(p *Paper) bool { return !p.Load && f.asks(p.Name) })
}

// check refuses sizes that do not exist.
func (f *Request) check() error {
	if f.ChangedOnly && f.Since == "" {
		return voice.Usagef("--changed-only needs the plan to compare with: --since OLD")
	}
	for _, p := range f.Papers {
		if p.check != nil {
			if err := p.check(f); err != nil {
				return err
			}
		}
	}
	if err := f.checkSettings(); err != nil {
		return err
	}
	if f.Size != "" {
		if _, ok := cardSize(f.Size); !ok {
			if problem := outside(f.Size); problem != "" {
				return voice.Usagef("card size %s", problem)
			}
			return voice.Usagef("unknown card size %q; %s", f.Size, knownCardSizes(f.Size))
		}
	}
	if f.Paper != "" {
		if _, ok := layout.PaperSize(f.Paper); !ok {
			return voice.Unknown("paper", f.Paper, SizeNames(layout.PaperSizes()))
		}
	}
	return nil
}

// cardSize is the card of a name, or of width x height, with or without mm.
func cardSize(name string) (layout.Size, bool) { return layout.CardSize(plainSize(name)) }

// plainSize is a size as the table of sizes has it.
func plainSize(name string) string {
	s := strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(name, "×", "x"), " ", ""))
	if bare := strings.ReplaceAll(s, "mm", ""); measured.MatchString(bare) {
		return bare
	}
	return name
}

// measured is a size as width and height in mm.
var measured = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?)x([0-9]+(?:\.[0-9]+)?)$`)

// outside says that a size of one's own is too small or too large; "" for what is no
// such size.
func outside(name string) string {
	m := measured.FindStringSubmatch(plainSize(name))
	if m == nil || nearNamed(name) != nil {
		return ""
	}
	how := "too large"
	for _, side := range m[1:] {
		if mm, err := strconv.ParseFloat(side, 64); err == nil && mm < layout.LeastCard {
			how = "too small"
		}
	}
	return fmt.Sprintf("%s is %s: width and height are %d to %d mm, such as 90x55", name, how, layout.LeastCard, layout.MostCard)
}

func unknownSize(what, name string, at finding.Place, known []string) finding.Finding {
	help := voice.DidYouMean(finding.Closest(name, known, 3)) + "known: " + strings.Join(known, ", ")
	message := fmt.Sprintf("%s %q is not known", what, name)
	if what == "card size" {
		help = knownCardSizes(name)
		message = cmp.Or(outside(name), message)
	}
	return finding.Finding{
		Rule: tomlfile.RuleBadValue, Severity: finding.Error, Place: at, Subject: name,
		Message: message,
		Help:    []string{help},
		Data:    map[string]any{"known": known},
	}
}

// nearNamed are the sizes that are called by their measures: 3x5 is said for
// index-3x5.
func nearNamed(word string) (near []string) {
	for _, s := range layout.CardSizes() {
		if strings.HasSuffix(s.Name, "-"+strings.ToLower(word)) {
			near = append(near, s.Name)
		}
	}
	return near
}

// knownCardSizes is what may be written in place of a card size that is none.
func knownCardSizes(word string) string {
	names := SizeNames(layout.CardSizes())
	near := nearNamed(word)
	if near == nil {
		near = finding.Closest(word, names, 3)
	}
	return voice.DidYouMean(near) + "known: " + strings.Join(names, ", ") +
		fmt.Sprintf(", or width x height in mm, from %d to %d, such as 90x55", layout.LeastCard, layout.MostCard)
}
