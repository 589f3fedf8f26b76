package layout

import "strings"

// run is a piece of text in one style, with a mark before it or on a plate.
type run struct {
	style style
	s     string
	mark  *mark
	plate bool
}

func (r run) width() float64 {
	if r.plate {
		w, _, _ := plateSize(r.style, r.s)
		return w
	}
	w := r.style.width(r.s)
	if r.mark != nil {
		w += r.mark.advance(r.style.cap())
	}
	return w
}

// chunk is what must stay on one line. Space says how much room follows it.
type chunk struct {
	runs  []run
	space float64
	wide  float64 // width of the runs, mm
}

func chunkOf(space float64, runs ...run) chunk {
	c := chunk{runs: runs, space: space}
	for _, r := range runs {
		c.wide += r.width()
	}
	return c
}

// text is what the chunk says.
func (c chunk) text() string {
	var b strings.Builder
	for _, r := range c.runs {
		b.WriteString(r.s)
	}
	return b.String()
}

// words breaks a text into chunks of a word each.
func words(s style, t string) []chunk {
	var out []chunk
	for _, w := range strings.Fields(t) {
		out = append(out, chunkOf(s.space(), run{style: s, s: w}))
	}
	return out
}

// wrap breaks chunks into lines no wider than width. A chunk that is wider on
// its own is returned as misfit.
func wrap(chunks []chunk, width float64) (lines [][]chunk, misfit string) {
	var line []chunk
	x := 0.0
	for _, c := range chunks {
		if c.wide > width+tolerance {
			return nil, c.text()
		}
		if len(line) > 0 && x+c.wide > width+tolerance {
			lines, line, x = append(lines, line), nil, 0
		}
		line = append(line, c)
		x += c.wide + c.space
	}
	if len(line) > 0 {
		lines = append(lines, line)
	}
	return lines, ""
}

// tolerance absorbs the rounding of sums of lengths, mm.
const tolerance = 1e-6

// line sets a line of chunks from x on the baseline y. Neighbouring words of
// one style become one run, so that the text can be found as it reads.
func (c *canvas) line(x, y float64, chunks []chunk) {
	var pending run
	start := x
	flush := func() {
		if pending.s != "" {
			c.text(start, y, pending.style, pending.s)
		}
		pending = run{}
	}
	for i, ch := range chunks {
		for j, r := range ch.runs {
			glued := j == 0 && i > 0 && pending.s != "" && pending.style == r.style && r.mark == nil && !r.plate &&
				chunks[i-1].space == r.style.space()
			switch {
			case glued:
				pending.s += " " + r.s
			case r.plate:
				flush()
				c.plate(x, y, r.style, r.s, false)
			default:
				flush()
				start, pending = x, r
				if r.mark != nil {
					r.mark.draw(c, x, y, r.style.cap(), r.style.ink)
					start += r.mark.advance(r.style.cap())
				}
			}
			x += r.width()
		}
		x += ch.space
	}
	flush()
}
