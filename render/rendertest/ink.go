package rendertest

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"slotcard/fonts"
)

// Field is a rectangle of a page, mm from its top left corner.
type Field struct{ X0, Y0, X1, Y1 float64 }

func (f Field) String() string {
	return fmt.Sprintf("(%.2f, %.2f)-(%.2f, %.2f)", f.X0, f.Y0, f.X1, f.Y1)
}

// Grow is the field with so many mm more on each side.
func (f Field) Grow(mm float64) Field { return Field{f.X0 - mm, f.Y0 - mm, f.X1 + mm, f.Y1 + mm} }

// Inside tells whether the field lies within another.
func (f Field) Inside(g Field) bool {
	return f.X0 >= g.X0 && f.Y0 >= g.Y0 && f.X1 <= g.X1 && f.Y1 <= g.Y1
}

// Overlaps tells whether two fields share more than an edge.
func (f Field) Overlaps(g Field) bool {
	return f.X0 < g.X1 && g.X0 < f.X1 && f.Y0 < g.Y1 && g.Y0 < f.Y1
}

func (f *Field) add(x, y float64) {
	f.X0, f.Y0, f.X1, f.Y1 = math.Min(f.X0, x), math.Min(f.Y0, y), math.Max(f.X1, x), math.Max(f.Y1, y)
}

func (f Field) meet(g Field) Field {
	return Field{math.Max(f.X0, g.X0), math.Max(f.Y0, g.Y0), math.Min(f.X1, g.X1), math.Min(f.Y1, g.Y1)}
}

func (f Field) empty() bool { return f.X0 >= f.X1 || f.Y0 >= f.Y1 }

var nowhere = Field{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

// Drawn is something on a page as another engine draws it, in its order.
type Drawn struct {
	Field         // of its ink
	S     string  // a run of text; "": a path
	Face  string  // of text
	Cap   float64 // mm: height of its capitals
	Light float64 // of its color, 0 black to 1 white
	Whole bool    // no clip takes anything of it
	Fill  bool    // a path that is filled
	Parts int     // of a path: a symbol has many
	Round bool    // a path that is not as its field: round, or aslant
}

func (d Drawn) String() string {
	if d.S == "" {
		return "path " + d.Field.String()
	}
	return fmt.Sprintf("%q %s", d.S, d.Field)
}

// Page is what a page shows.
type Page struct {
	Width, Height float64 // mm
	Drawn         []Drawn
}

// Ink is what every page of a document shows, as MuPDF's device "trace" is told: places
// are its own, the outline of a glyph is that of the font file.
func (m MutoolTool) Ink(t testing.TB, pdf []byte) (pages []Page) {
	t.Helper()
	in := file(t, "a.pdf", pdf)
	out := filepath.Join(filepath.Dir(in), "trace")
	run(t, m.path, "draw", "-q", "-F", "trace", "-o", out, in)
	trace, err := os.ReadFile(out)
	require.NoError(t, err)
	r := inkReader{t: t}
	for s := bufio.NewScanner(bytes.NewReader(trace)); s.Scan(); {
		r.line(strings.TrimSpace(s.Text()))
	}
	return r.pages
}

// mostCorner is the largest round corner of what still counts as a rectangle, mm.
const mostCorner = 3

type inkReader struct {
	t     testing.TB
	pages []Page
	clips []Field

	now  Drawn
	to   [6]float64 // from the page's own space to points from its top left
	em   float64    // pt
	half float64    // of a stroke, mm
	last [2]float64 // point of the path, mm
}

// line takes one line of a trace; each holds a single element.
func (r *inkReader) line(s string) {
	name, _, _ := strings.Cut(strings.Trim(s, "</>"), " ")
	value := func(key string) string {
		v := s
		for {
			i := strings.Index(v, key+`="`)
			if i < 1 {
				require.Fail(r.t, "an element lacks an attribute", "%s: %s", s, key)
			}
			before := v[i-1]
			if v = v[i+len(key)+2:]; before == ' ' {
				return v[:strings.IndexByte(v, '"')]
			}
		}
	}
	number := func(s string) float64 {
		n, err := strconv.ParseFloat(s, 64)
		if err != nil {
			require.NoError(r.t, err, s)
		}
		return n
	}
	numbers := func(key string) (all []float64) {
		for n := range strings.FieldsSeq(value(key)) {
			all = append(all, number(n))
		}
		return all
	}
	at := func(x, y string) (float64, float64) {
		u, v := number(value(x)), number(value(y))
		return (r.to[0]*u + r.to[2]*v + r.to[4]) * mm, (r.to[1]*u + r.to[3]*v + r.to[5]) * mm
	}
	begins := !strings.HasPrefix(s, "</")
	switch name {
	case "page":
		if begins {
			box := numbers("mediabox")
			r.pages = append(r.pages, Page{Width: (box[2] - box[0]) * mm, Height: (box[3] - box[1]) * mm})
			r.clips = []Field{{math.Inf(-1), math.Inf(-1), math.Inf(1), math.Inf(1)}}
		}
	case "fill_text", "fill_path", "stroke_path", "clip_path":
		if !begins {
			r.end(name)
			return
		}
		copy(r.to[:], numbers("transform"))
		r.now, r.half = Drawn{Field: nowhere, Fill: name == "fill_path"}, 0
		if name == "stroke_path" {
			r.half = number(value("linewidth")) * math.Hypot(r.to[0], r.to[1]) * mm / 2
		}
		if name != "clip_path" {
			for _, c := range numbers("color") {
				r.now.Light += c / float64(len(numbers("color")))
			}
		}
	case "span":
		if begins {
			r.em = numbers("trm")[0]
			r.now.Face, r.now.Cap = value("font"), r.em*mm*r.glyph(value("font"), 'H').up
		}
	case "g":
		c := entities.Replace(value("unicode"))
		r.now.S += c
		g := r.glyph(r.now.Face, []rune(c)[0])
		if g.left < g.right {
			x, y := number(value("x")), number(value("y"))
			for _, p := range [][2]float64{{g.left, g.up}, {g.right, -g.down}} {
				u, v := x+p[0]*r.em, y+p[1]*r.em
				r.now.add((r.to[0]*u+r.to[2]*v+r.to[4])*mm, (r.to[1]*u+r.to[3]*v+r.to[5])*mm)
			}
		}
	case "moveto", "lineto":
		x, y := at("x", "y")
		r.now.add(x, y)
		if name == "moveto" {
			r.now.Parts++
		} else if math.Abs(x-r.last[0]) > 0.01 && math.Abs(y-r.last[1]) > 0.01 {
			r.now.Round = true
		}
		r.last = [2]float64{x, y}
	case "curveto":
		r.now.add(at("x1", "y1"))
		r.now.add(at("x2", "y2"))
		x, y := at("x3", "y3")
		r.now.add(x, y)
		// A corner may be round, as far as no text comes.
		if math.Hypot(x-r.last[0], y-r.last[1]) > mostCorner {
			r.now.Round = true
		}
		r.last = [2]float64{x, y}
	case "pop_clip":
		r.clips = r.clips[:len(r.clips)-1]
	case "?xml", "document", "set_default_colorspaces", "layer", "end_layer", "closepath", "":
	default:
		require.Fail(r.t, "no test reads this of a trace", "%s", s)
	}
}

var entities = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&quot;", `"`, "&apos;", "'", "&#39;", "'", "&amp;", "&")

func (r *inkReader) end(name string) {
	clip := r.clips[len(r.clips)-1]
	if name == "clip_path" {
		r.clips = append(r.clips, clip.meet(r.now.Field))
		return
	}
	if r.now.X0 > r.now.X1 {
		return // nothing but spaces
	}
	d := r.now
	switch { // butt ends: a rule is not longer than its points
	case d.Parts == 1 && d.Y0 == d.Y1:
		d.Y0, d.Y1 = d.Y0-r.half, d.Y1+r.half
	case d.Parts == 1 && d.X0 == d.X1:
		d.X0, d.X1 = d.X0-r.half, d.X1+r.half
	default:
		d.Field = d.Field.Grow(r.half)
	}
	d.Whole = d.Inside(clip)
	if d.Field = d.Field.meet(clip); d.Field.empty() {
		return
	}
	p := &r.pages[len(r.pages)-1]
	p.Drawn = append(p.Drawn, d)
}

// outline is the ink of a glyph, in em: to the left and right of where it stands, and
// above and below its line.
type outline struct{ left, right, up, down float64 }

type outlineKey struct {
	face string
	r    rune
}

var outlines = map[outlineKey]outline{}

func (r *inkReader) glyph(name string, c rune) outline {
	key := outlineKey{name, c}
	if o, ok := outlines[key]; ok {
		return o
	}
	var found *fonts.Face
	for _, f := range fonts.All() {
		if strings.EqualFold(strings.TrimPrefix(strings.ToLower(name), "utf8"), f.String()) {
			found = &f
		}
	}
	require.NotNil(r.t, found, "no face %s", name)
	f, err := sfnt.Parse(found.Data())
	require.NoError(r.t, err)
	var buf sfnt.Buffer
	g, err := f.GlyphIndex(&buf, c)
	require.NoError(r.t, err)
	require.NotZero(r.t, g, "%s has no %q", name, c)
	b, _, err := f.GlyphBounds(&buf, g, fixed.I(1000), font.HintingNone)
	require.NoError(r.t, err)
	const em = 64000
	o := outline{float64(b.Min.X) / em, float64(b.Max.X) / em, -float64(b.Min.Y) / em, float64(b.Max.Y) / em}
	outlines[key] = o
	return o
}
