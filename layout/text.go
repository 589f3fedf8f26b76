package layout

import (
	"math"
	"strings"
)

// The one breaker of paragraphs. A paragraph is a row of pieces; a piece stays
// on one line. [words] and [pieceOf] make pieces that are never broken: one that
// a line does not hold is a misfit. [prose] makes pieces of running text, where
// a word that is wider than a whole line is broken between letters, because
// nothing is ever cut.

// run is a piece of text in one style, with a mark before it or on a plate; or
// a drawing as wide as it says.
type run struct {
	style style
	s     string
	mark  *mark
	plate bool

	drawn func(c *canvas, x, y float64) // in place of text
	wide  float64                       // of what is drawn, mm
}

// say is a text in a style.
func (s style) say(t string) run { return run{style: s, s: t} }

func (r run) width() float64 {
	switch {
	case r.drawn != nil:
		return r.wide
	case r.plate:
		w, _, _ := plateSize(r.style, r.s)
		return w
	}
	w := r.style.width(r.s)
	if r.mark != nil {
		w += r.mark.advance(r.style.cap())
	}
	return w
}

// text tells whether the run is letters alone, which others can join.
func (r run) text() bool { return !r.plate && r.mark == nil && r.drawn == nil }

// piece is what must stay on one line, and the white behind it.
type piece struct {
	runs  []run
	space float64 // white behind it, mm
	wide  float64 // of the runs, mm

	typed *style // the white is a space of this style, and is printed
	soft  bool   // may be broken between letters
	ends  bool   // the line ends here
}

func pieceOf(space float64, runs ...run) piece {
	p := piece{runs: runs, space: space}
	for _, r := range runs {
		p.wide += r.width()
	}
	return p
}

// text is what the piece says.
func (p piece) text() string {
	var b strings.Builder
	for _, r := range p.runs {
		b.WriteString(r.s)
	}
	return b.String()
}

// words are the words of a text, a piece each.
func words(s style, t string) []piece {
	var out []piece
	for _, w := range strings.Fields(t) {
		out = append(out, pieceOf(s.space(), s.say(w)))
	}
	return out
}

// noBreak stands for a space at which no line breaks.
const noBreak = "\u00a0"

// prose makes pieces of running text, whose style may change within a word.
// Lines break at spaces and at line feeds.
func prose(runs ...run) []piece {
	var out []piece
	var word []run
	end := func() {
		if len(word) > 0 {
			p := pieceOf(0, word...)
			p.soft = true
			out, word = append(out, p), nil
		}
	}
	for _, r := range runs {
		for left := r.s; left != ""; {
			i := strings.IndexAny(left, " \n\t")
			if i < 0 {
				word = append(word, r.style.say(left))
				break
			}
			if i > 0 {
				word = append(word, r.style.say(left[:i]))
			}
			end()
			if left[i] == '\n' {
				out = append(out, piece{ends: true})
			} else if n := len(out) - 1; n >= 0 {
				s := r.style
				out[n].typed, out[n].space = &s, s.space()
			}
			left = left[i+1:]
		}
	}
	end()
	return out
}

// tolerance absorbs the rounding of sums of lengths, mm.
const tolerance = 1e-6

// line is a line of a paragraph; each run has its place.
type line struct {
	runs []placedRun
	wide float64 // mm
}

type placedRun struct {
	run
	x float64
}

func (l line) empty() bool { return len(l.runs) == 0 }

// breaker fills lines with pieces.
type breaker struct {
	line
	lines []line
	limit float64 // of the line that is being filled
	next  float64 // of all others
	apart bool    // white stands before the next run
}

func (b *breaker) flush() {
	b.lines = append(b.lines, b.line)
	b.line, b.limit, b.apart = line{}, b.next, false
}

// put sets a run behind the others: text of one style becomes one run, so that
// it can be found as it reads.
func (b *breaker) put(r run) {
	r.s = strings.ReplaceAll(r.s, noBreak, " ")
	if n := len(b.runs) - 1; n >= 0 && !b.apart && r.text() && b.runs[n].style == r.style && !b.runs[n].plate && b.runs[n].drawn == nil {
		b.runs[n].s += r.s
	} else {
		b.runs = append(b.runs, placedRun{r, b.wide})
	}
	b.apart = false
	b.wide += r.width()
}

// white sets the white behind a piece before the next one begins.
func (b *breaker) white(p, next piece) {
	last, first := p.runs[len(p.runs)-1], next.runs[0]
	switch {
	case p.typed != nil:
		b.put(p.typed.say(" "))
	case !last.plate && last.drawn == nil && first.text() && last.style == first.style && p.space == first.style.space():
		b.put(first.style.say(" "))
	default:
		b.wide += p.space
		b.apart = true
	}
}

// putSoft sets a run over as many lines as it takes.
func (b *breaker) putSoft(r run) {
	for r.text() && b.wide+r.width() > b.limit+tolerance {
		n := fitting(r, b.limit-b.wide)
		if n == 0 && len(b.runs) == 0 {
			n = len(string([]rune(r.s)[:1])) // a line narrower than a letter
		}
		if n > 0 {
			b.put(r.style.say(r.s[:n]))
		}
		if r.s = r.s[n:]; r.s == "" {
			return
		}
		b.flush()
	}
	b.put(r)
}

// breakLines breaks a paragraph into lines that are no wider than width, the
// first one no wider than first: it stays empty where that does not hold the
// first piece. A piece that no line holds is the misfit.
func breakLines(pieces []piece, first, width float64) (lines []line, misfit string) {
	b := breaker{limit: first, next: width}
	var last *piece // before the next one on its line
	for i := range pieces {
		p := &pieces[i]
		if p.ends {
			b.flush()
			last = nil
			continue
		}
		space := 0.0
		if last != nil {
			space = last.space
		}
		if b.wide+space+p.wide > b.limit+tolerance && (last != nil || b.limit < width) {
			b.flush()
			last = nil
		}
		if last != nil {
			b.white(*last, *p)
		}
		if p.soft {
			for _, r := range p.runs {
				b.putSoft(r)
			}
		} else {
			if p.wide > b.limit+tolerance {
				b.flush()
				return b.lines, p.text()
			}
			for _, r := range p.runs {
				b.put(r)
			}
		}
		last = p
	}
	if !b.empty() || len(b.lines) == 0 {
		b.flush()
	}
	return b.lines, ""
}

// wrap breaks pieces into lines no wider than width: none where there are none.
func wrap(pieces []piece, width float64) (lines []line, misfit string) {
	if len(pieces) == 0 {
		return nil, ""
	}
	lines, misfit = breakLines(pieces, width, width)
	if misfit != "" {
		return nil, misfit
	}
	return lines, ""
}

// set breaks running text into lines no wider than width, one at least.
func set(width float64, runs ...run) []line {
	lines, _ := breakLines(prose(runs...), width, width)
	return lines
}

// fitting is how many bytes of a run fit into width: a whole number of letters.
func fitting(r run, width float64) int {
	n := 0
	for i, letter := range r.s {
		end := i + len(string(letter))
		if r.style.width(r.s[:end]) > width+tolerance {
			break
		}
		n = end
	}
	return n
}

// lineOf sets pieces on a line that is as long as they are.
func lineOf(pieces ...piece) line {
	lines, _ := breakLines(pieces, math.Inf(1), math.Inf(1))
	return lines[0]
}

// line sets runs one behind the other on a line.
func (s style) line(t string) line { return lineOf(pieceOf(0, s.say(t))) }

// line sets a line from x on the baseline y.
func (c *canvas) line(x, y float64, l line) {
	for _, r := range l.runs {
		at := x + r.x
		switch {
		case r.drawn != nil:
			r.drawn(c, at, y)
			continue
		case r.plate:
			c.plate(at, y, r.style, r.s, false)
			continue
		case r.mark != nil:
			r.mark.draw(c, at, y, r.style.cap(), r.style.ink)
			at += r.mark.advance(r.style.cap())
		}
		c.text(at, y, r.style, r.s)
	}
}

// lineRight sets a line with its right end at x.
func (c *canvas) lineRight(x, y float64, l line) { c.line(x-l.wide, y, l) }

// lines sets lines from the baseline y on, a pitch apart.
func (c *canvas) lines(x, y, pitch float64, lines []line) {
	for i, l := range lines {
		c.line(x, y+float64(i)*pitch, l)
	}
}

// linesRight sets lines with their right ends at x.
func (c *canvas) linesRight(x, y, pitch float64, lines []line) {
	for i, l := range lines {
		c.lineRight(x, y+float64(i)*pitch, l)
	}
}

// stack is lines at one pitch: the content of a table's cell.
type stack struct {
	lines []line
	cap   float64 // height of the capitals of its first line
	pitch float64
}

// stack is a text in one style, broken to a width.
func (s style) stack(t string, width, pitch float64) stack {
	return stack{lines: set(width, s.say(t)), cap: s.cap(), pitch: pitch}
}

// height from the top of the first line's capitals to the last baseline.
func (t stack) height() float64 {
	if len(t.lines) == 0 {
		return 0
	}
	return t.cap + float64(len(t.lines)-1)*t.pitch
}

// draw sets the lines with the first line's capitals at the height y.
func (t stack) draw(c *canvas, x, y float64) { c.lines(x, y+t.cap, t.pitch, t.lines) }

func (t stack) width() (w float64) {
	for _, l := range t.lines {
		w = max(w, l.wide)
	}
	return w
}
