package set

import (
	"math"
	"slotcard/layout"
	"strings"
)

// The one breaker of paragraphs. A paragraph is a row of pieces; a piece stays
// on one line. [words] and [pieceOf] make pieces that are never broken: one that
// a line does not hold is a misfit. [prose] makes pieces of running text, where
// a word that is wider than a whole line is broken between letters, because
// nothing is ever cut.

// Run is a piece of text in one style, with a mark before it or on a plate; or
// a drawing as wide as it says.
type Run struct {
	Style Style
	S     string
	Mark  *Mark
	Plate bool

	Drawn func(c *Canvas, x, y float64) // in place of text
	Wide  float64                       // of what is drawn, mm
}

// Say is a text in a style.
func (s Style) Say(t string) Run { return Run{Style: s, S: t} }

func (r Run) width() float64 {
	switch {
	case r.Drawn != nil:
		return r.Wide
	case r.Plate:
		w, _, _ := PlateSize(r.Style, r.S)
		return w
	}
	w := r.Style.Width(r.S)
	if r.Mark != nil {
		w += r.Mark.Advance(r.Style.Cap())
	}
	return w
}

// text tells whether the run is letters alone, which others can join.
func (r Run) text() bool { return !r.Plate && r.Mark == nil && r.Drawn == nil }

// Piece is what must stay on one line, and the white behind it.
type Piece struct {
	Runs  []Run
	Space float64 // white behind it, mm
	wide  float64 // of the runs, mm

	typed *Style // the white is a space of this style, and is printed
	Soft  bool   // may be broken between letters
	ends  bool   // the line ends here
	parts *Style // a rule as high as its capitals stands in the white
}

func PieceOf(space float64, runs ...Run) Piece {
	p := Piece{Runs: runs, Space: space}
	for _, r := range runs {
		p.wide += r.width()
	}
	return p
}

// Wide is the width of the piece without the white behind it, mm.
func (p Piece) Wide() float64 { return p.wide }

// text is what the piece says.
func (p Piece) text() string {
	var b strings.Builder
	for _, r := range p.Runs {
		b.WriteString(r.S)
	}
	return b.String()
}

// Words are the words of a text, a piece each; [layout.NoBreak] parts none.
func Words(s Style, t string) []Piece {
	n := 0
	for range wordsOf(t) {
		n++
	}
	if n == 0 {
		return nil
	}
	out, runs, space := make([]Piece, 0, n), make([]Run, 0, n), s.Space()
	for w := range wordsOf(t) {
		runs = append(runs, s.Say(w))
		out = append(out, PieceOf(space, runs[len(runs)-1:len(runs):len(runs)]...))
	}
	return out
}

// wordsOf are the words of a text: what stands between spaces and line feeds.
func wordsOf(t string) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for t != "" {
			i := strings.IndexAny(t, whites)
			if i < 0 {
				i = len(t)
			}
			if i > 0 && !yield(t[:i]) {
				return
			}
			t = t[min(i+1, len(t)):]
		}
	}
}

// whites are where lines break.
const whites = " \n\t"

// Parted sets a rule behind pieces, light and longer than any letter of a style, where
// others follow on their line: what stands behind it is another statement.
func Parted(s Style, pieces []Piece) []Piece {
	last := &pieces[len(pieces)-1]
	last.Space, last.parts = s.Space()*3.5, &s
	return pieces
}

// partWeight is that of the rule between statements, mm.
const partWeight = 0.15

// prose makes pieces of running text, whose style may change within a word.
// Lines break at spaces and at line feeds.
func prose(runs ...Run) []Piece {
	most := len(runs) + 1 // words, and parts of words
	for _, r := range runs {
		for i := range len(r.S) {
			if strings.IndexByte(whites, r.S[i]) >= 0 {
				most++
			}
		}
	}
	out, parts, from := make([]Piece, 0, most), make([]Run, 0, most), 0
	end := func() {
		if n := len(parts); n > from {
			p := PieceOf(0, parts[from:n:n]...)
			p.Soft = true
			out, from = append(out, p), n
		}
	}
	for _, r := range runs {
		for left := r.S; left != ""; {
			i := strings.IndexAny(left, whites)
			if i < 0 {
				parts = append(parts, r.Style.Say(left))
				break
			}
			if i > 0 {
				parts = append(parts, r.Style.Say(left[:i]))
			}
			end()
			if left[i] == '\n' {
				out = append(out, Piece{ends: true})
			} else if n := len(out) - 1; n >= 0 {
				out[n].typed, out[n].Space = &r.Style, r.Style.Space()
			}
			left = left[i+1:]
		}
	}
	end()
	return out
}

// Tolerance absorbs the rounding of sums of lengths, mm.
const Tolerance = 1e-6

// Line is a line of a paragraph; each run has its place.
type Line struct {
	runs []placedRun
	Wide float64 // mm
}

type placedRun struct {
	Run
	x float64
}

// Rise is how far the ink of the line reaches above and below its baseline, mm, but
// for plates and drawings.
func (l Line) Rise() (up, down float64) {
	for _, r := range l.runs {
		u, d := r.Style.Rise(r.S)
		up, down = max(up, u), max(down, d)
	}
	return up, down
}

func (l Line) Empty() bool { return len(l.runs) == 0 }

// breaker fills lines with pieces.
type breaker struct {
	Line
	lines []Line
	limit float64 // of the line that is being filled
	next  float64 // of all others
	apart bool    // white stands before the next run

	all   []placedRun // of which the runs of each line are a part
	grown []byte      // text of the last run, where it is of several
}

// usualRuns and usualLine are room for the runs of most paragraphs, and for the text of
// most lines.
const (
	usualRuns = 4
	usualLine = 128
)

func (b *breaker) flush() {
	b.close()
	b.lines = append(b.lines, b.Line)
	b.Line, b.limit, b.apart = Line{}, b.next, false
}

// close ends the last run of the line.
func (b *breaker) close() {
	if len(b.grown) > 0 {
		b.runs[len(b.runs)-1].S = string(b.grown)
		b.grown = b.grown[:0]
	}
}

// put sets a run behind the others: text of one style becomes one run, so that
// it can be found as it reads.
func (b *breaker) put(r Run) {
	r.S = strings.ReplaceAll(r.S, layout.NoBreak, " ")
	if n := len(b.runs) - 1; n >= 0 && !b.apart && r.text() && b.runs[n].Style == r.Style && !b.runs[n].Plate && b.runs[n].Drawn == nil {
		if len(b.grown) == 0 {
			b.grown = append(b.grown, b.runs[n].S...)
		}
		b.grown = append(b.grown, r.S...)
	} else {
		b.close()
		from := len(b.all) - len(b.runs)
		b.all = append(b.all, placedRun{r, b.Wide})
		b.runs = b.all[from:len(b.all):len(b.all)]
	}
	b.apart = false
	b.Wide += r.width()
}

// white sets the white behind a piece before the next one begins.
func (b *breaker) white(p, next Piece) {
	last, first := p.Runs[len(p.Runs)-1], next.Runs[0]
	switch {
	case p.typed != nil:
		b.put(p.typed.Say(" "))
	case p.parts != nil:
		high := p.parts.Cap()
		b.put(Run{Style: *p.parts, Wide: p.Space, Drawn: func(c *Canvas, x, y float64) {
			c.Add(layout.Line{X1: x + p.Space/2, Y1: y - 1.15*high, X2: x + p.Space/2, Y2: y + 0.3*high, Weight: partWeight})
		}})
	case !last.Plate && last.Drawn == nil && first.text() && last.Style == first.Style && p.Space == first.Style.Space():
		b.put(first.Style.Say(" "))
	default:
		b.Wide += p.Space
		b.apart = true
	}
}

// putSoft sets a run over as many lines as it takes.
func (b *breaker) putSoft(r Run) {
	for r.text() && b.Wide+r.width() > b.limit+Tolerance {
		n := fitting(r, b.limit-b.Wide)
		if n == 0 && len(b.runs) == 0 {
			n = len(string([]rune(r.S)[:1])) // a line narrower than a letter
		}
		if n > 0 {
			b.put(r.Style.Say(r.S[:n]))
		}
		if r.S = r.S[n:]; r.S == "" {
			return
		}
		b.flush()
	}
	b.put(r)
}

// BreakLines breaks a paragraph into lines that are no wider than width, the
// first one no wider than first: it stays empty where that does not hold the
// first piece. A piece that no line holds is the misfit.
func BreakLines(pieces []Piece, first, width float64) (lines []Line, misfit string) {
	b := breaker{limit: first, next: width, all: make([]placedRun, 0, usualRuns), grown: make([]byte, 0, usualLine)}
	var last *Piece // before the next one on its line
	for i := range pieces {
		p := &pieces[i]
		if p.ends {
			b.flush()
			last = nil
			continue
		}
		space := 0.0
		if last != nil {
			space = last.Space
		}
		if b.Wide+space+p.wide > b.limit+Tolerance && (last != nil || b.limit < width) {
			b.flush()
			last = nil
		}
		if last != nil {
			b.white(*last, *p)
		}
		if p.Soft {
			for _, r := range p.Runs {
				b.putSoft(r)
			}
		} else {
			if p.wide > b.limit+Tolerance {
				b.flush()
				return b.lines, p.text()
			}
			for _, r := range p.Runs {
				b.put(r)
			}
		}
		last = p
	}
	if !b.Empty() || len(b.lines) == 0 {
		b.flush()
	}
	return b.lines, ""
}

// Wrap breaks pieces into lines no wider than width: none where there are none.
func Wrap(pieces []Piece, width float64) (lines []Line, misfit string) {
	if len(pieces) == 0 {
		return nil, ""
	}
	lines, misfit = BreakLines(pieces, width, width)
	if misfit != "" {
		return nil, misfit
	}
	return lines, ""
}

// Paragraph breaks running text into lines no wider than width, one at least.
func Paragraph(width float64, runs ...Run) []Line {
	lines, _ := BreakLines(prose(runs...), width, width)
	return lines
}

// fitting is how many bytes of a run fit into width: a whole number of letters.
func fitting(r Run, width float64) int {
	n := 0
	for i, letter := range r.S {
		end := i + len(string(letter))
		if r.Style.Width(r.S[:end]) > width+Tolerance {
			break
		}
		n = end
	}
	return n
}

// LineOf sets pieces on a line that is as long as they are.
func LineOf(pieces ...Piece) Line {
	lines, _ := BreakLines(pieces, math.Inf(1), math.Inf(1))
	return lines[0]
}

// Line sets runs one behind the other on a line.
func (s Style) Line(t string) Line { return LineOf(PieceOf(0, s.Say(t))) }

// Line sets a line from x on the baseline y.
func (c *Canvas) Line(x, y float64, l Line) {
	for _, r := range l.runs {
		at := x + r.x
		switch {
		case r.Drawn != nil:
			r.Drawn(c, at, y)
			continue
		case r.Plate:
			c.Plate(at, y, r.Style, r.S, false)
			continue
		case r.Mark != nil:
			r.Mark.Draw(c, at, y, r.Style.Cap(), r.Style.ink)
			at += r.Mark.Advance(r.Style.Cap())
		}
		c.Text(at, y, r.Style, r.S)
	}
}

// LineRight sets a line with its right end at x.
func (c *Canvas) LineRight(x, y float64, l Line) { c.Line(x-l.Wide, y, l) }

// Lines sets lines from the baseline y on, a pitch apart.
func (c *Canvas) Lines(x, y, pitch float64, lines []Line) {
	for i, l := range lines {
		c.Line(x, y+float64(i)*pitch, l)
	}
}

// LinesRight sets lines with their right ends at x.
func (c *Canvas) LinesRight(x, y, pitch float64, lines []Line) {
	for i, l := range lines {
		c.LineRight(x, y+float64(i)*pitch, l)
	}
}

// Stack is lines at one pitch: the content of a table's cell.
type Stack struct {
	Lines []Line
	Cap   float64 // height of the capitals of its first line
	Pitch float64
}

// Stack is a text in one style, broken to a width.
func (s Style) Stack(t string, width, pitch float64) Stack {
	return Stack{Lines: Paragraph(width, s.Say(t)), Cap: s.Cap(), Pitch: pitch}
}

// Height from the top of the first line's capitals to the last baseline.
func (t Stack) Height() float64 {
	if len(t.Lines) == 0 {
		return 0
	}
	return t.Cap + float64(len(t.Lines)-1)*t.Pitch
}

// Draw sets the lines with the first line's capitals at the height y.
func (t Stack) Draw(c *Canvas, x, y float64) { c.Lines(x, y+t.Cap, t.Pitch, t.Lines) }
