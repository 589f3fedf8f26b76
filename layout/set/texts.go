package set

// Texts collects headings and paragraphs, one below the other in a column, as
// blocks for a flow.
type Texts struct {
	Wide   float64 // of the column, mm
	Head   Style   // of headings
	Above  float64 // white above a heading, but the first, and below it
	Below  float64
	Cap    float64 // height of the capitals of paragraphs
	Pitch  float64
	Blocks []Block
}

// Add adds blocks as they are.
func (t *Texts) Add(b ...Block) { t.Blocks = append(t.Blocks, b...) }

// White adds white between others.
func (t *Texts) White(h float64) { t.Add(Block{H: h, Gap: true}) }

// Heading adds a heading, which stays with what follows.
func (t *Texts) Heading(said string) {
	if len(t.Blocks) > 0 {
		t.White(t.Above)
	}
	b := t.Head.Stack(said, t.Wide, t.Head.Cap()*1.6).Block(t.Below)
	b.Keep = true
	t.Add(b)
}

// Say adds a paragraph, a block for each line, so that a long one may go on in
// the next column but leaves no line alone; it stays with what follows it, or not.
func (t *Texts) Say(keep bool, said ...Run) {
	lines := Paragraph(t.Wide, said...)
	for i, l := range lines {
		b := Drawn(t.Pitch, func(c *Canvas, x, y float64) { c.Line(x, y+t.Cap, l) })
		b.Keep = keep && i == len(lines)-1 || i == 0 && len(lines) > 1 || i == len(lines)-2
		t.Add(b)
	}
}
