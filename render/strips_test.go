package render_test

import (
	"bytes"
	"errors"
	"image"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/strips"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/plantest"
	"slotcard/plan/radio"
	"slotcard/plan/rules"
	"slotcard/plan/slotlist"
	"slotcard/render"
	"slotcard/render/rendertest"
)

// spareTactical is a tactical of the load that no slot of the plan uses; nil: none.
func spareTactical(p *plan.Plan, l *plan.Load) *plan.Channel {
	for _, c := range l.Channels() {
		if c.Use == radio.Tactical && !slices.ContainsFunc(p.Slots, func(s *plan.Slot) bool { return s.Channel == c.Name }) {
			return c
		}
	}
	return nil
}

// disturbed are a plan and its revision, with some changes at random.
func disturbed(t *rapid.T) *changes.Changes {
	shape := plantest.Shape{
		Seed: rapid.Uint64Range(1, 9).Draw(t, "seed"), Slots: rapid.IntRange(4, 12).Draw(t, "slots"), NameLength: rapid.IntRange(5, 12).Draw(t, "name"),
		Divisions: rapid.IntRange(1, 5).Draw(t, "divisions"), Functional: rapid.Bool().Draw(t, "functional"),
		WordLength: 4, Words: 1, Units: rapid.IntRange(1, 5).Draw(t, "units"), Seats: 2, PerSeat: rapid.IntRange(1, 2).Draw(t, "per seat"), Also: 1,
		Mixed: rapid.Bool().Draw(t, "mixed"), Digital: rapid.Bool().Draw(t, "digital"), Exercise: rapid.Bool().Draw(t, "exercise"),
	}
	p, l := plantest.Written(shape)
	q, m := plantest.Written(shape)
	q.Incident.Revision, q.Incident.RevisedAt = 2, q.Incident.From.Add(7*time.Hour)
	for range rapid.IntRange(1, 3).Draw(t, "changes") {
		at := rapid.IntRange(1, max(1, len(q.Slots)-2)).Draw(t, "at")
		switch rapid.IntRange(0, 6).Draw(t, "change") {
		case 0, 1:
			if c := spareTactical(q, m); c != nil {
				q.Slots[at].Channel = c.Name
			}
		case 2:
			m.Tones[0].Hz = radio.Tone(1000)
			m.Sites[0].Squelch = radio.Tone(1000)
		case 3:
			if q.Slots[at].CarriedBy == nil {
				q.Slots[at].Division = plan.Names{q.Divisions[rapid.IntRange(0, len(q.Divisions)-1).Draw(t, "user")].ID}
			}
		case 4:
			q.Positions[rapid.IntRange(0, len(q.Positions)-1).Draw(t, "position")].Scan = plan.Names{"guard", "own"}
		case 5:
			if len(q.Slots) > 4 {
				q.Slots = slices.Delete(q.Slots, len(q.Slots)-2, len(q.Slots)-1)
			}
		case 6:
			q.Units[0].Seats[0].Count++
		}
	}
	old, found := plan.Resolve(p, l)
	require.Empty(t, found)
	new, found := plan.Resolve(q, m)
	if len(found) > 0 {
		return nil // two slots of one channel, say
	}
	return changes.Between(old, new)
}

// stripRead is a strip of paper as it is read.
type stripRead struct {
	place   layout.Rect // on its page
	page    int
	card    int
	code    string
	changes []slotRead
	text    string
}

// slotRead is what a strip says of a slot.
type slotRead struct {
	n                   int
	verb, name          string
	place, freq, tones  string
	kind                []string
	lead                string
	talk, first, scan   bool
	unheard, saysEither bool
}

var (
	slotPlate = regexp.MustCompile(`^SLOT (\d+) (NOW|STAYS|CLEAR)$`)
	cardSaid  = regexp.MustCompile(`Card (\d+)`)
	placeSaid = regexp.MustCompile(`^\d+-\d\d$`)
	freqSaid  = regexp.MustCompile(`^\d+\.\d{4,6}(/\d+\.\d{4,6})?$`)
	codeSaid  = regexp.MustCompile(`^[0-9A-Z]{2} [0-9A-Z]{2}$`)
)

// readStrips reads the strips of a document from its PDF.
func readStrips(t require.TestingT, d *layout.Document, doc *rendertest.Doc, pages int) (all []stripRead) {
	for i := range pages {
		runs := doc.Text(i)
		for _, a := range d.Pages[i].Areas {
			box := a.Rect
			s := stripRead{place: box, page: i}
			for k := 0; k < len(runs); k++ {
				r := runs[k]
				if r.X < box.X || r.X > box.X+box.W || r.Baseline < box.Y || r.Baseline > box.Y+box.H {
					continue
				}
				require.LessOrEqual(t, r.X+r.W, box.X+box.W, "%s leaves its strip", r)
				s.text += r.S + " "
				s.take(t, r.S)
			}
			all = append(all, s)
		}
	}
	return all
}

// take reads one run of text.
func (s *stripRead) take(t require.TestingT, said string) {
	said = strings.TrimSpace(said)
	if m := slotPlate.FindStringSubmatch(said); m != nil {
		n, _ := strconv.Atoi(m[1])
		s.changes = append(s.changes, slotRead{n: n, verb: m[2]})
		return
	}
	if len(s.changes) == 0 {
		if m := cardSaid.FindStringSubmatch(said); m != nil {
			s.card, _ = strconv.Atoi(m[1])
		}
		return
	}
	c := &s.changes[len(s.changes)-1]
	switch {
	case s.code != "":
	case strings.HasPrefix(said, "new code"):
		s.code = "?"
	case c.name == "" && c.verb != "CLEAR":
		c.name = said
	case said == "TALK":
		c.talk, c.saysEither = true, true
	case said == "PRIORITY":
		c.first, c.saysEither = true, true
	case said == "SCAN":
		c.scan, c.saysEither = true, true
	case said == "no talk, no scan":
		c.unheard, c.saysEither = true, true
	default:
		c.lead = c.figures(said)
	}
	if s.code == "?" && codeSaid.MatchString(said) {
		s.code = said
	}
}

// figures takes the figures of a run, and returns what is left of it.
func (c *slotRead) figures(said string) string {
	var rest []string
	for _, f := range strings.Fields(said) {
		switch {
		case c.verb == "NOW" && c.place == "" && placeSaid.MatchString(f):
			c.place = f
		case c.verb == "NOW" && c.freq == "" && freqSaid.MatchString(f):
			c.freq = f
		case c.verb == "NOW" && c.tones == "" && c.freq != "" && strings.Contains(f, "/"):
			c.tones = f
		case c.lead == "" && c.tones != "" && (f == "D" || f == "M" || f == "W"):
			c.kind = append(c.kind, f)
		default:
			rest = append(rest, f)
		}
	}
	if rest == nil {
		return c.lead
	}
	return strings.TrimSpace(c.lead + " " + strings.Join(rest, " "))
}

// useOf is whom a slot is for in the grammar of the list text, from the words on the
// strip: "Div A, B, Group SP" is T:A,B,SP.
func useOf(t require.TestingT, lead string) string {
	codes := map[string]string{}
	for _, u := range []radio.Use{radio.Command, radio.Tactical, radio.AirToGround, radio.Guard, radio.Support, radio.Travel, radio.Medical} {
		name := u.String()
		codes[strings.ToUpper(name[:1])+name[1:]] = u.Code()
	}
	use := codes["Tactical"]
	for name, code := range codes {
		if rest, ok := strings.CutPrefix(lead, name); ok {
			use, lead = code, strings.TrimSpace(rest)
			break
		}
	}
	if lead == "" {
		return use
	}
	var ids []string
	for _, p := range strings.Split(lead, ", ") {
		p = strings.TrimPrefix(strings.TrimPrefix(p, "Div "), "Group ")
		require.NotContains(t, p, " ")
		ids = append(ids, p)
	}
	return use + ":" + strings.Join(ids, ",")
}

// apply changes the text of the old list as the strips of its card say.
func apply(t require.TestingT, old string, strips []stripRead) slotlist.List {
	lines := strings.Split(strings.TrimSpace(old), "\n")
	head, slots := lines[:2], lines[2:len(lines)-1]
	end := len(slots)
	for _, s := range strips {
		for _, c := range s.changes {
			switch c.verb {
			case "NOW":
				line := strings.Join(append([]string{strconv.Itoa(c.n), useOf(t, c.lead), c.name, c.freq, c.tones}, c.kind...), " ")
				if c.n > len(slots) {
					require.Equal(t, len(slots)+1, c.n)
					slots, end = append(slots, line), c.n
				} else {
					slots[c.n-1] = line
				}
			case "STAYS":
				parts := strings.SplitN(slots[c.n-1], " ", 3)
				require.True(t, strings.HasPrefix(parts[2], c.name+" "), "%q is not %q", parts[2], c.name)
				if c.lead != "" {
					parts[1] = useOf(t, c.lead)
				}
				slots[c.n-1] = strings.Join(parts, " ")
			case "CLEAR":
				end = min(end, c.n-1)
			}
		}
	}
	text := strings.Join(append(slices.Clone(head), slots[:end]...), "\n") + "\n=0000\n"
	l, _, err := slotlist.Parse(text)
	var code *slotlist.CodeError
	if err != nil && !errors.As(err, &code) {
		require.NoError(t, err, text)
	}
	return l
}

// heard are the marks of the old card with what the strips say.
func heard(old *plan.Card, slots int, strips []stripRead) []plan.Mark {
	marks := make([]plan.Mark, slots)
	copy(marks, old.Marks)
	for _, s := range strips {
		for _, c := range s.changes {
			if c.saysEither && c.n <= slots {
				marks[c.n-1] = plan.Mark{Talk: c.talk, Priority: c.first, Scan: c.scan}
			}
		}
	}
	for i := range marks {
		marks[i].Scan = marks[i].Scan && !marks[i].Priority
	}
	return marks
}

// checkStrips sets every strip together with its old card.
func checkStrips(t require.TestingT, tb testing.TB, c *changes.Changes, o strips.Options) (d *layout.Document, n strips.Count, pdf []byte, all []stripRead) {
	d, n, findings := strips.Lay(c, o)
	require.Empty(t, findings)
	if d == nil {
		return nil, n, nil, nil
	}
	var b bytes.Buffer
	require.NoError(t, render.PDF(&b, d, time.Date(2027, 8, 14, 13, 5, 0, 0, time.UTC)))
	all = readStrips(t, d, rendertest.Open(tb, b.Bytes()), n.Pages)
	full := map[*plan.Card]bool{}
	for _, card := range n.Full {
		full[card] = true
	}
	got := 0
	for _, u := range c.Units {
		for _, card := range u.Cards {
			var mine []stripRead
			for _, s := range all {
				if card.Old != nil && s.card == card.Old.Number {
					mine = append(mine, s)
				}
			}
			if full[card.New] || !card.Replace() {
				require.Empty(t, mine, "card %d", card.New.Number)
				continue
			}
			got++
			require.NotEmpty(t, mine, "card %d", card.New.Number)
			list := apply(t, card.Old.List.Text, mine)
			require.Equal(t, card.New.List.Code, list.Code(), "%v", mine)
			for _, s := range mine {
				require.Equal(t, card.New.List.Code.Pairs(), s.code)
				require.Contains(t, packed(s.text), "rev213:")
				require.Equal(t, c.New.Plan.Incident.Exercise, strings.Contains(packed(s.text), "EXERCISE"))
				require.Contains(t, packed(s.text), packed(card.New.Unit.Name))
			}
			want := heard(card.New, len(card.New.List.Slots), nil)
			require.Equal(t, want, heard(card.Old, len(want), mine), "card %d: %v", card.New.Number, mine)
		}
	}
	require.Equal(t, n.Cards, got)
	return d, n, b.Bytes(), all
}

// Strips of random pairs of plans, set together with the old cards, are the new
// lists: the text is read from the PDF by another engine and applied to the old
// list's text, and the code is computed from what comes out.
func TestStripsOnOldCardsAreTheNewList(t *testing.T) {
	printed := 0
	pairs := rapid.Custom(disturbed)
	for seed := range 16 {
		c := pairs.Example(seed)
		if c == nil {
			continue
		}
		t.Run(strconv.Itoa(seed), func(t *testing.T) { // closes its PDF when it ends
			paper, _ := layout.PaperSize([]string{"letter", "a4"}[seed%2])
			if d, _, _, _ := checkStrips(t, t, c, strips.Options{Paper: paper}); d != nil {
				printed++
			}
		})
	}
	assert.Greater(t, printed, 3)
}

// revision is the example's second period and its revision.
func revision(t *testing.T) *changes.Changes {
	t.Helper()
	read := func(name string) *plan.Resolved {
		r, findings, err := rules.Open(filepath.Join("..", "examples", "thimble-gulch", name), plan.Options{ReadFile: os.ReadFile, Prints: fonts.Prints})
		require.NoError(t, err)
		require.False(t, findings.HasErrors(), "%v", findings)
		return r
	}
	return changes.Between(read("plan.toml"), read("period-2-rev-2.toml"))
}

// The strips of the example carry the new list, as two other programs read it; the
// page behind them says the sentence and names every unit.
func TestStripsOfTheExample(t *testing.T) {
	c := revision(t)
	d, n, pdf, all := checkStrips(t, t, c, strips.Options{})
	require.NotNil(t, d)
	assert.GreaterOrEqual(t, n.PerPage, 16)
	assert.Len(t, all, len(c.New.Cards))
	assert.True(t, n.Scanned)
	assert.Empty(t, n.Full)
	text := c.New.Lists[0].Text
	assert.Contains(t, text, "SLOTS 1 THIMBLE GULCH/2.2 EXERCISE\n")
	doc, zbar := rendertest.Open(t, pdf), rendertest.Zbar(t)
	at := func(s stripRead, dpi int) image.Rectangle {
		return rendertest.Pixels(s.place.X+0.2, s.place.Y+0.2, s.place.H-0.4, s.place.H-0.4, dpi)
	}
	const dpi = 300
	img := doc.Image(0, dpi)
	for _, s := range all[:6] {
		assert.Equal(t, strings.TrimSpace(text), strings.TrimSpace(zbar.Decode(t, img.SubImage(at(s, dpi)))))
	}
	// The other decoder takes the symbol for a module too wide at some places and
	// sizes: it has to read it at one of them, as a camera that moves does.
	read := 0
	for _, dpi := range []int{280, 320, 360} {
		img := doc.Image(0, dpi)
		for _, s := range all[:3] {
			if texts, err := rendertest.DecodeQR(img, at(s, dpi)); err == nil {
				assert.Equal(t, text, texts[0])
				read++
			}
		}
	}
	assert.Positive(t, read)
	var said strings.Builder
	for _, r := range doc.Text(doc.Pages() - 1) {
		said.WriteString(r.S + " ")
	}
	page := packed(said.String())
	// The spelling alphabet is that of the ITU Radio Regulations, Appendix 14 (secondary).
	assert.Contains(t, page, packed("Exercise, exercise. Slot five is now Q B tac five. Code "+c.New.Lists[0].Code.Words()+". Acknowledge by unit."))
	for _, u := range c.New.Plan.Units {
		assert.Contains(t, page, packed(u.Name))
	}
}

// Where a strip cannot say it, none is printed, and the cards that need a new one are
// named.
func TestNoStripWhereAStripCannotSayIt(t *testing.T) {
	c := revision(t)
	other := *c.New.Plan
	other.Incident.Exercise = false
	r := *c.New
	r.Plan = &other
	d, n, _ := strips.Lay(changes.Between(c.Old, &r), strips.Options{})
	assert.Nil(t, d)
	assert.True(t, n.NoStrips)

	shape := plantest.Shape{Seed: 3, Slots: 8, NameLength: 6, Divisions: 4, WordLength: 4, Words: 1, Units: 4, Seats: 1, PerSeat: 1, Also: 1}
	p, l := plantest.Written(shape)
	q, m := plantest.Written(shape)
	q.Slots[1], q.Slots[2], q.Slots[3], q.Slots[4], q.Slots[5] = q.Slots[5], q.Slots[4], q.Slots[1], q.Slots[2], q.Slots[3]
	old, found := plan.Resolve(p, l)
	require.Empty(t, found)
	new, found := plan.Resolve(q, m)
	require.Empty(t, found)
	d, n, _ = strips.Lay(changes.Between(old, new), strips.Options{})
	assert.Nil(t, d)
	assert.Len(t, n.Full, len(new.Cards))
}
