package papers

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"slotcard/cmd/internal/voice"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/sheets"
	"slotcard/plan/finding"
)

func init() { register(20, wallPaper) }

// wallPaper is the wall sheet, in one of its forms.
func wallPaper() *Paper {
	f := new(wallFlags)
	p := &Paper{Name: "wall", What: "the wall sheet; its `FORM` is list (all of the plan),\nor grid (divisions across, slots down, for the briefing)", Forms: wallForms, flags: f.add, sheet: f.sheet}
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
var wallForms = []string{"list", "grid"}

// defaultDistance is from where a wall sheet is read, in meters.
const defaultDistance = 2

// tiledPaper is what tiles are glued together to, where no flag says.
const tiledPaper = "a2"

func (f *wallFlags) add(to Flags) {
	papers := SizeNames(layout.PaperSizes())
	to.StringVar(&f.paper, "wall-paper", "", "paper `SIZE` of the wall sheet (default: that of the cards, with --tile "+tiledPaper+")")
	f.distance = defaultDistance
	to.Var(&measure{&f.distance, "m"}, "distance", fmt.Sprintf("`METERS` from which the wall sheet is read, %g to %d, such as 3", sheets.LeastDistance, sheets.MostDistance))
	to.StringVar(&f.tile, "tile", "", "cut the wall sheet into tiles of this paper `SIZE`, to be glued together")
	to.Complete("wall-paper", papers)
	to.Complete("tile", papers)
}

// check refuses values that no flag can have.
func (f *wallFlags) check() error {
	if !slices.Contains(wallForms, f.form) {
		return voice.Unknown("form of the wall sheet", f.form, wallForms)
	}
	if !(f.distance >= sheets.LeastDistance && f.distance <= sheets.MostDistance) {
		return voice.Usagef("--distance %g: %g to %d meters, such as --distance 3", f.distance, sheets.LeastDistance, sheets.MostDistance)
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
	grid     bool
	paper    layout.Size
	distance float64
	tile     layout.Size // zero: whole pages
}

// settings are what the flags ask for; paper is that of the cards.
func (f *wallFlags) settings(paper layout.Size) (s wallSettings) {
	s.grid, s.distance, s.paper = f.form == "grid", f.distance, paper
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
	pages := 0 // before they are cut
	return &Sheet{
		Name:  "wall",
		Paper: cmp.Or(s.tile.Name, s.paper.Name),
		lay: func() (*layout.Document, finding.List, error) {
			form := sheets.Wall
			if s.grid {
				form = sheets.WallGrid
			}
			d, found := form(j.Plan, sheets.WallOptions{Paper: s.paper, Distance: s.distance, Symbols: j.symbols, Words: words})
			if d == nil {
				return nil, found, nil
			}
			pages = len(d.Pages)
			if s.tile == (layout.Size{}) {
				return d, found, nil
			}
			d, err := impose.Tiles(d, s.tile, words)
			return d, found, err
		},
		say: func(d *layout.Document) string {
			var b strings.Builder
			b.WriteString("wall sheet, ")
			if s.grid {
				b.WriteString("divisions by slots, ")
			}
			fmt.Fprintf(&b, "%s of %s", voice.Count(pages, "page", "pages"), s.paper.Name)
			if s.tile != (layout.Size{}) {
				fmt.Fprintf(&b, " in %s of %s: print at actual size, on one side, cut along the marks and glue together",
					voice.Count(len(d.Pages), "tile", "tiles"), s.tile.Name)
			} else {
				b.WriteString(": print at actual size, on one side")
			}
			return b.String()
		},
		pictures: pagePictures,
	}
}
