package papers

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
	"slotcard/plan/finding"
)

func init() { register(20, wallPaper) }

// wallPaper is the wall sheet, in one of its forms.
func wallPaper() *Paper {
	f := new(wallFlags)
	p := &Paper{Name: "wall", What: "the wall sheet; its `FORM` is list (all of the plan),\ngrid (divisions across, slots down, for the briefing),\nor clip (all of the plan on one upright page, for a clipboard)", Forms: wallForms, flags: f.add, sheet: f.sheet}
	p.check = func(*Request) error {
		f.form = p.form
		return f.check()
	}
	return p
}

// wallFlags are the flags of print that are about the wall sheet.
type wallFlags struct {
	form, paper, tile string // form is that of the flag of the paper
	distance          float64
}

// wallForms are the forms of the wall sheet, the usual one first.
var wallForms = []string{"list", "grid", "clip"}

// farAsFits stands for no distance: type is as large as a page for each list allows.
const farAsFits = -1

// tiledPaper is what tiles are glued together to, where no flag says.
const tiledPaper = "a2"

func (f *wallFlags) add(to Flags) {
	papers := SizeNames(layout.PaperSizes())
	to.StringVar(&f.paper, "wall-paper", "", "paper `SIZE` of the wall sheet (default: that of the cards, with --tile "+tiledPaper+")")
	f.distance = farAsFits
	to.Var(&measure{&f.distance, "m"}, "distance", fmt.Sprintf("`METERS` from which the wall sheet must be read, %g to %d, such as 3,\non as many pages as that takes (default: as far as a page for each list allows)", wall.LeastDistance, wall.MostDistance))
	to.StringVar(&f.tile, "tile", "", "cut the wall sheet into tiles of this paper `SIZE`, to be glued together")
	to.Complete("wall-paper", papers)
	to.Complete("tile", papers)
}

// check refuses values that no flag can have.
func (f *wallFlags) check() error {
	if !slices.Contains(wallForms, f.form) {
		return voice.Unknown("form of the wall sheet", f.form, wallForms)
	}
	if f.distance != farAsFits && !(f.distance >= wall.LeastDistance && f.distance <= wall.MostDistance) {
		return voice.Usagef("--distance %g: %g to %d meters, such as --distance 3", f.distance, wall.LeastDistance, wall.MostDistance)
	}
	for _, name := range []string{f.paper, f.tile} {
		if _, ok := layout.PaperSize(name); name != "" && !ok {
			return voice.Unknown("paper", name, SizeNames(layout.PaperSizes()))
		}
	}
	if f.tile != "" {
		tile, _ := layout.PaperSize(f.tile)
		whole, _ := layout.PaperSize(cmp.Or(f.paper, tiledPaper))
		if tile.Width*tile.Height >= whole.Width*whole.Height {
			return voice.Usagef("a wall sheet on %s is no larger than a tile of %s: leave out --tile, or name a larger paper with --wall-paper", whole.Name, tile.Name)
		}
	}
	return nil
}

// wallSettings are how the wall sheet is printed.
type wallSettings struct {
	form     string
	paper    layout.Size
	distance float64     // 0: as far as a page for each list allows
	tile     layout.Size // zero: whole pages
}

// settings are what the flags ask for; paper is that of the cards.
func (f *wallFlags) settings(paper layout.Size) (s wallSettings) {
	s.form, s.distance, s.paper = f.form, max(0, f.distance), paper
	if f.tile != "" {
		s.tile, _ = layout.PaperSize(f.tile)
		s.paper, _ = layout.PaperSize(tiledPaper)
	}
	if f.paper != "" {
		s.paper, _ = layout.PaperSize(f.paper)
	}
	return s
}

// sheet is the wall sheet as asked for.
func (f *wallFlags) sheet(j *Job) *Sheet {
	s, words := f.settings(j.set.sheets.Paper), &j.set.words.Wall
	var whole *wall.Sheet // before it is cut
	return &Sheet{
		Name:  "wall",
		Paper: cmp.Or(s.tile.Name, s.paper.Name),
		lay: func() (*layout.Document, finding.List, error) {
			form := wall.List
			if s.form == "grid" {
				form = wall.Grid
			}
			var found finding.List
			whole, found = form(j.Plan, wall.Options{Paper: s.paper, Distance: s.distance, Clip: s.form == "clip", Symbols: j.symbols, Words: words})
			if whole == nil {
				return nil, found, nil
			}
			if s.tile == (layout.Size{}) {
				return whole.Document, found, nil
			}
			d, err := impose.Tiles(whole.Document, s.tile, words)
			return d, found, err
		},
		say: func(d *layout.Document) string {
			var b strings.Builder
			b.WriteString("wall sheet, ")
			switch s.form {
			case "grid":
				b.WriteString("divisions by slots, ")
			case "clip":
				b.WriteString("for a clipboard, ")
			}
			fmt.Fprintf(&b, "%s of %s", voice.Count(len(whole.Pages), "page", "pages"), s.paper.Name)
			if s.tile != (layout.Size{}) {
				fmt.Fprintf(&b, " in %s of %s", voice.Count(len(d.Pages), "tile", "tiles"), s.tile.Name)
			}
			b.WriteString(", " + readableFrom(whole.From) + ": print at actual size, on one side")
			if s.tile != (layout.Size{}) {
				b.WriteString(", cut along the marks and glue together")
			}
			return b.String() + s.costs(whole)
		},
		pictures: pagePictures,
	}
}

// readableFrom says from how far pages are read.
func readableFrom(meters []float64) string {
	first, last := meters[0], meters[len(meters)-1]
	if first == last {
		return fmt.Sprintf("readable from %g m", first)
	}
	return fmt.Sprintf("lists readable from %g m, the rest from %g m", first, last)
}

// costs says what a distance that was asked for costs in pages, and what saves them.
func (s wallSettings) costs(w *wall.Sheet) string {
	larger := fmt.Sprintf("%s (--wall-paper %s)", w.Paper, w.Paper)
	switch {
	case w.TooFar && w.Paper != "":
		return fmt.Sprintf("; to be read from %g m it needs %s", w.Asked, larger)
	case w.TooFar:
		return fmt.Sprintf("; no paper that slotcard knows holds it to be read from %g m", w.Asked)
	case w.Asked == 0 && s.form == "clip" && len(w.Pages) > 1 && w.Paper != "":
		return "; one page of " + larger + " holds it"
	case w.Asked == 0 || len(w.Pages) <= w.Fewest:
		return ""
	}
	said := fmt.Sprintf("; without --distance it takes %s of %s, %s", voice.Count(w.Fewest, "page", "pages"), s.paper.Name, readableFrom(w.Else))
	if w.Paper != "" {
		said += fmt.Sprintf("; from %g m it takes no more on %s", w.Asked, larger)
	}
	return said
}
