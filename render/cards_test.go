package render_test

import (
	"bytes"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/layout/impose"
	"slotcard/plan"
	"slotcard/plan/rules"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// example is one of the example incidents as it is printed.
type example struct {
	resolved *plan.Resolved
	deck     *cards.Deck
	sheets   *layout.Document
	pdf      []byte
}

var examples = sync.OnceValues(func() (map[string]*example, error) {
	found := map[string]*example{}
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		path := filepath.Join("..", "examples", name, "plan.toml")
		r, findings, err := rules.Open(path, plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
		if err != nil || findings.HasErrors() {
			return nil, fmt.Errorf("%s: %v %v", path, err, findings)
		}
		e := &example{resolved: r}
		size, _ := layout.CardSize(r.Plan.Card.Size)
		if e.deck, findings = cards.Deal(r, cards.Options{Size: size}); e.deck == nil {
			return nil, fmt.Errorf("%s: %v", path, findings)
		}
		letter, _ := layout.PaperSize("letter")
		if e.sheets, err = impose.Cards(e.deck, impose.Options{Paper: letter}); err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := render.PDF(&b, e.sheets, r.Plan.Incident.PreparedAt); err != nil {
			return nil, err
		}
		e.pdf = b.Bytes()
		found[name] = e
	}
	return found, nil
})

// on are the cards of a page, with their place on it in millimeters.
func (e *example) on(page int) (places []layout.Placed) {
	for _, item := range e.sheets.Pages[page].Items {
		if p, ok := item.(layout.Placed); ok {
			places = append(places, p)
		}
	}
	return places
}

// size of a place after turning.
func turned(p layout.Placed) (w, h float64) {
	if p.Turn%2 == 1 {
		return p.Panel.Height, p.Panel.Width
	}
	return p.Panel.Width, p.Panel.Height
}

// symbolOn is the QR code of a placed panel: its place on the page in mm.
func symbolOn(p layout.Placed) (x, y, side float64, m layout.Modules) {
	for _, item := range p.Panel.All() {
		if m, ok := item.(layout.Modules); ok {
			side = float64(m.Symbol.Size) * m.Module
			w, h := p.Panel.Width, p.Panel.Height
			switch p.Turn {
			case 0:
				return p.X + m.X, p.Y + m.Y, side, m
			case 1:
				return p.X + h - m.Y - side, p.Y + m.X, side, m
			case 2:
				return p.X + w - m.X - side, p.Y + h - m.Y - side, side, m
			}
			return p.X + m.Y, p.Y + w - m.X - side, side, m
		}
	}
	return 0, 0, 0, layout.Modules{}
}

// Every card of both examples: its QR code, rasterized at 300 dpi by PDFium and
// read by an independent decoder, is the list text; the four modules around
// it are light in the picture (ISO/IEC 18004; secondary).
func TestQRCodeOfEveryExampleCard(t *testing.T) {
	if testing.Short() {
		t.Skip("looks at every page")
	}
	all, err := examples()
	require.NoError(t, err)
	const dpi = 300
	for name, e := range all {
		t.Run(name, func(t *testing.T) {
			doc := rendertest.Open(t, e.pdf)
			require.Equal(t, len(e.sheets.Pages), doc.Pages())
			read := 0
			for page := 1; page < doc.Pages(); page += 2 {
				img := doc.Image(page, dpi)
				for i, p := range e.on(page) {
					card := e.deck.Faces[read].Card
					x, y, side, m := symbolOn(p)
					quiet := layout.QuietModules * m.Module
					got, err := rendertest.DecodeQR(img, rendertest.Pixels(x-quiet, y-quiet, side+2*quiet, side+2*quiet, dpi))
					require.NoError(t, err, "page %d, card %d", page, i)
					require.Equal(t, []string{card.List.Text}, got)
					assert.True(t, light(img, rendertest.Pixels(x-quiet, y-quiet, side+2*quiet, side+2*quiet, dpi), rendertest.Pixels(x, y, side, side, dpi)),
						"quiet zone of card %d", card.Number)
					read++
				}
			}
			assert.Equal(t, len(e.deck.Faces), read)
		})
	}
}

// light tells whether all of outer but inner is nearly white. A pixel at each
// edge may be shared with what lies beside it.
func light(img *image.Gray, outer, inner image.Rectangle) bool {
	outer, inner = outer.Inset(1).Intersect(img.Bounds()), inner.Inset(-1)
	for y := outer.Min.Y; y < outer.Max.Y; y++ {
		for x := outer.Min.X; x < outer.Max.X; x++ {
			if !(image.Point{X: x, Y: y}).In(inner) && img.GrayAt(x, y).Y < 250 {
				return false
			}
		}
	}
	return true
}

// What a card has to say is found by PDFium's text extraction inside of that
// card's rectangle, and nothing on it is smaller than 1.63 mm.
func TestTextOfEveryExampleCard(t *testing.T) {
	if testing.Short() {
		t.Skip("looks at every page")
	}
	all, err := examples()
	require.NoError(t, err)
	for name, e := range all {
		t.Run(name, func(t *testing.T) {
			doc := rendertest.Open(t, e.pdf)
			seen := 0
			for page := range doc.Pages() {
				runs := doc.Text(page)
				for i, p := range e.on(page) {
					w, h := turned(p)
					var inside []string
					for _, r := range runs {
						if r.X >= p.X && r.Y >= p.Y && r.X+r.W <= p.X+w && r.Y+r.H <= p.Y+h {
							inside = append(inside, r.S)
							assert.GreaterOrEqual(t, fonts.CapMM(r.Size), layout.CapLeast-0.005, "%q", r.S)
						}
					}
					card := e.deck.Faces[page/2*impose.PerSheet(e.deck.Size, impose.Options{Paper: sizeOf(e.sheets.Pages[page])})+i].Card
					// Without spaces: a letter that reaches back under the space before
					// it, as j does, comes as a run of its own.
					text := strings.ReplaceAll(strings.Join(inside, ""), " ", "")
					for _, s := range saidOn(e.resolved, card, page%2 == 1) {
						assert.Contains(t, text, strings.ReplaceAll(s, " ", ""), "page %d, card %d", page+1, card.Number)
					}
					seen++
				}
			}
			assert.Equal(t, 2*len(e.deck.Faces), seen)
		})
	}
}

func sizeOf(p layout.Page) layout.Size { return layout.Size{Width: p.Width, Height: p.Height} }

// saidOn is what a side of a card must say.
func saidOn(r *plan.Resolved, c *plan.Card, back bool) (said []string) {
	l := c.List
	if !back {
		said = append(said, r.Plan.Incident.Name, c.Unit.Name, c.Position.Name, "EXERCISE", "06:00", l.Code.Pairs(), "TALK",
			r.Load.About.Edition+" "+r.Load.About.Colour, fmt.Sprintf("Card %d", c.Number))
		if r.Plan.Incident.Period == 1 {
			said = slices.DeleteFunc(said, func(s string) bool { return s == "06:00" })
		}
		for _, a := range r.Also {
			said = append(said, a.When, a.Channel.Name)
		}
	} else {
		said = append(said, l.Code.Words(), "EXERCISE", "fresh batteries", "Radio check", "list built")
	}
	for i, s := range l.Slots {
		at := l.Place(i)
		said = append(said, fmt.Sprint(i+1), s.Channel.Name, fmt.Sprintf("%d-%02d", at.Group.Number, at.Number))
		if back {
			said = append(said, s.Channel.Rx.String(), s.TxTone.String())
			if s.Channel.Tx != s.Channel.Rx {
				said = append(said, s.Channel.Tx.String())
			}
		}
	}
	return said
}

// The same sheets through the eyes of other programs: poppler draws them, zbar
// reads the codes, qpdf and mutool find no fault.
func TestSecondOpinionOnExampleCards(t *testing.T) {
	poppler, zbar, qpdf, mutool := rendertest.Poppler(t), rendertest.Zbar(t), rendertest.Qpdf(t), rendertest.Mutool(t)
	all, err := examples()
	require.NoError(t, err)
	const dpi = 300
	for name, e := range all {
		t.Run(name, func(t *testing.T) {
			qpdf.Check(t, e.pdf)
			assert.Contains(t, mutool.Text(t, e.pdf, 0), e.resolved.Plan.Incident.Name)
			read := 0
			for page := 1; page < len(e.sheets.Pages); page += 2 {
				// All codes of a page in one go: a list text ends with its code line.
				var want, got []string
				for range e.on(page) {
					want = append(want, e.deck.Faces[read].Card.List.Text)
					read++
				}
				rest := strings.TrimRight(zbar.Decode(t, poppler.Image(t, e.pdf, page, dpi)), "\n") + "\n"
				for strings.Contains(rest, "\n=") {
					end := strings.Index(rest, "\n=") + len("\n=XXXX\n")
					got = append(got, rest[:end])
					rest = strings.TrimLeft(rest[end:], "\n")
				}
				slices.Sort(want)
				slices.Sort(got)
				require.Equal(t, want, got, "page %d", page+1)
			}
			assert.Equal(t, len(e.deck.Faces), read)
		})
	}
}
