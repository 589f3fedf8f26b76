package set

import (
	"math"
	"slices"
	"strings"
	"sync"

	"slotcard/layout"
)

// The one breaker of paragraphs. A paragraph is a row of pieces; a piece stays
// on one line. [Words] and [PieceOf] make pieces that are never broken: one that
// a line does not hold is a misfit. [Paragraph] makes pieces of running text, where
// a word that is wider than a whole line is broken between letters, because
// nothing is ever cut.
//
// Papers are laid out many times before they are drawn, and most of that is breaking
// lines: a breaker is used again, and a width is measured once.

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

	Soft  bool  // may be broken between letters
	ends  bool  // the line ends here
	white white // what stands in the white
	style Style // of that
}

// white is what stands in the white behind a piece.
type white uint8

const (
	blank white = iota
	typed       // a space of the style, which is printed
	ruled       // a rule as high as the style's capitals
)

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
			i := word(t)
			if i > 0 && !yield(t[:i]) {
				return
			}
			t = t[min(i+1, len(t)):]
		}
	}
}

// word is how many bytes of a text stand before the first place where lines break.
func word(t string) int {
	for i := range len(t) {
		if c := t[i]; c == ' ' || c == '\n' || c == '\t' {
			return i
		}
	}
	return len(t)
}

// Parted sets a rule behind pieces, light and longer than any letter of a style, where
// others follow on their line: what stands behind it is another statement.
func Parted(s Style, pieces []Piece) []Piece {
	last := &pieces[len(pieces)-1]
	last.Space, last.white, last.style = s.Space()*3.5, ruled, s
	return pieces
}

// partWeight is that of the rule between statements, mm.
const partWeight = 0.15

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

// breaker fills lines with pieces. What it holds is its own: [breaker.broken] copies what
// has come of it.
type breaker struct {
	wide  float64 // of the line that is being filled, mm
	limit float64 // of it
	next  float64 // of all others
	apart bool    // white stands before the next run

	runs  []placedRun // of all lines
	from  int         // the first of those of the line that is being filled
	ends  []lineEnd   // of the lines that are full
	grown []byte      // text of the last run, where it is of several

	pieces []Piece // of running text
	parts  []Run   // of which each piece of it has some
}

// lineEnd is behind which run a line ends, and its width in mm.
type lineEnd struct {
	run  int
	wide float64
}

var breakers = sync.Pool{New: func() any { return new(breaker) }}

// flush ends a line.
func (b *breaker) flush() {
	b.close()
	b.ends = append(b.ends, lineEnd{len(b.runs), b.wide})
	b.wide, b.limit, b.apart, b.from = 0, b.next, false, len(b.runs)
}

// close ends the last run of the line.
func (b *breaker) close() {
	if len(b.grown) > 0 {
		b.runs[len(b.runs)-1].S = string(b.grown)
		b.grown = b.grown[:0]
	}
}

// put sets a run of a width behind the others: text of one style becomes one run, so
// that it can be found as it reads.
func (b *breaker) put(r *Run, wide float64) {
	text := r.S
	if strings.Contains(text, layout.NoBreak) {
		said := *r
		said.S = strings.ReplaceAll(text, layout.NoBreak, " ")
		text, wide = said.S, said.width()
	}
	if n := len(b.runs) - 1; n >= b.from && !b.apart && b.runs[n].grows(r) {
		if len(b.grown) == 0 {
			b.grown = append(b.grown, b.runs[n].S...)
		}
		b.grown = append(b.grown, text...)
	} else {
		b.close()
		b.runs = append(b.runs, placedRun{*r, b.wide})
		b.runs[len(b.runs)-1].S = text
	}
	b.apart = false
	b.wide += wide
}

// grows tells whether the text of another run can stand in this one, too.
func (r *Run) grows(other *Run) bool {
	return other.text() && r.Style == other.Style && !r.Plate && r.Drawn == nil
}

// white sets the white behind a piece before the next one begins.
func (b *breaker) white(p, next *Piece) {
	last, first := &p.Runs[len(p.Runs)-1], &next.Runs[0]
	switch {
	case p.white == typed:
		b.put(&Run{Style: p.style, S: " "}, p.Space)
	case p.white == ruled:
		high, wide := p.style.Cap(), p.Space
		b.put(&Run{Style: p.style, Wide: wide, Drawn: func(c *Canvas, x, y float64) {
			c.Add(layout.Line{X1: x + wide/2, Y1: y - 1.15*high, X2: x + wide/2, Y2: y + 0.3*high, Weight: partWeight})
		}}, wide)
	case !last.Plate && last.Drawn == nil && first.text() && last.Style == first.Style && p.Space == first.Style.Space():
		b.put(&Run{Style: first.Style, S: " "}, p.Space)
	default:
		b.wide += p.Space
		b.apart = true
	}
}

// putSoft sets a run of a width over as many lines as it takes.
func (b *breaker) putSoft(r *Run, wide float64) {
	if !r.text() || b.wide+wide <= b.limit+Tolerance {
		b.put(r, wide)
		return
	}
	left := *r
	for ; b.wide+wide > b.limit+Tolerance; wide = left.width() {
		n := fitting(left, b.limit-b.wide)
		if n == 0 && len(b.runs) == b.from {
			n = len(string([]rune(left.S)[:1])) // a line narrower than a letter
		}
		if n > 0 {
			part := left.Style.Say(left.S[:n])
			b.put(&part, part.width())
		}
		if left.S = left.S[n:]; left.S == "" {
			return
		}
		b.flush()
	}
	b.put(&left, wide)
}

// BreakLines breaks a paragraph into lines that are no wider than width, the
// first one no wider than first: it stays empty where that does not hold the
// first piece. A piece that no line holds is the misfit.
func BreakLines(pieces []Piece, first, width float64) (lines []Line, misfit string) {
	b := breakers.Get().(*breaker)
	defer breakers.Put(b)
	misfit = b.fill(pieces, first, width)
	return b.broken(), misfit
}

// fill fills lines as [BreakLines] says.
func (b *breaker) fill(pieces []Piece, first, width float64) (misfit string) {
	b.wide, b.limit, b.next, b.apart, b.from = 0, first, width, false, 0
	b.runs, b.ends, b.grown = b.runs[:0], b.ends[:0], b.grown[:0]
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
		if b.wide+space+p.wide > b.limit+Tolerance && (last != nil || b.limit < width) {
			b.flush()
			last = nil
		}
		if last != nil {
			b.white(last, p)
		}
		if !p.Soft && p.wide > b.limit+Tolerance {
			b.flush()
			return p.text()
		}
		for i := range p.Runs {
			wide := p.wide
			if len(p.Runs) > 1 {
				wide = p.Runs[i].width()
			}
			if p.Soft {
				b.putSoft(&p.Runs[i], wide)
			} else {
				b.put(&p.Runs[i], wide)
			}
		}
		last = p
	}
	if len(b.runs) > b.from || len(b.ends) == 0 {
		b.flush()
	}
	return ""
}

// broken are the lines that were filled.
func (b *breaker) broken() []Line {
	lines, runs, from := make([]Line, len(b.ends)), slices.Clone(b.runs), 0
	for i, end := range b.ends {
		lines[i] = Line{runs: runs[from:end.run:end.run], Wide: end.wide}
		from = end.run
	}
	return lines
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
	b := breakers.Get().(*breaker)
	defer breakers.Put(b)
	b.fill(b.prose(runs), width, width)
	return b.broken()
}

// prose makes pieces of running text, whose style may change within a word.
// Lines break at spaces and at line feeds.
func (b *breaker) prose(runs []Run) []Piece {
	out, parts, from := b.pieces[:0], b.parts[:0], 0
	end := func() {
		if n := len(parts); n > from {
			p := PieceOf(0, parts[from:n:n]...)
			p.Soft = true
			out, from = append(out, p), n
		}
	}
	for i := range runs {
		style, left := runs[i].Style, runs[i].S
		space := style.Space()
		for left != "" {
			i := word(left)
			if i > 0 {
				parts = append(parts, style.Say(left[:i]))
			}
			if i == len(left) {
				break
			}
			end()
			if left[i] == '\n' {
				out = append(out, Piece{ends: true})
			} else if n := len(out) - 1; n >= 0 {
				out[n].Space, out[n].white, out[n].style = space, typed, style
			}
			left = left[i+1:]
		}
	}
	end()
	b.pieces, b.parts = out, parts
	return out
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
