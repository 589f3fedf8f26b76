package desk

import (
	"errors"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/papers"
	"slotcard/layout"
	"slotcard/layout/cards"
	"slotcard/plan"
)

func init() {
	register(&View{Name: "cards", Title: "Cards", Place: 10, Kinds: []string{"plan"}, Last: true, Data: cardsData})
	register(&View{Name: "sizes", Title: "Sizes", Place: 15, Kinds: []string{"plan"}, Last: true, Data: sizesData})
}

// Cards is the card of a seat, and the way to the others.
type Cards struct {
	Units    []UnitLink // that match what is looked for, one page of them
	Filter   string
	From, Of int // which of the units are listed, and how many there are
	Earlier  string
	Later    string
	Unit     string
	Seats    []SeatLink
	Card     *plan.Card
	Size     layout.Size
	Front    Drawing
	Back     Drawing
	Before   string // addresses of the cards before and after; "": none
	After    string
	Side     string // "front", "back" or "": both
	As       string // a key of looks
	Looks    []Choice
	Zoom     string
	Zooms    []Choice
}

// UnitLink leads to a unit, SeatLink to the card of a seat.
type (
	UnitLink struct {
		Name, Team, Division, Address string
		Cards                         int
		Here                          bool
	}
	SeatLink struct {
		Name, Address string
		Here          bool
	}
)

// Choice is one of several things to choose.
type Choice struct {
	Value, Name, Address, Key string // Key is the one to press; "": none
	Here                      bool
}

// unitsListed is how many units stand on a page of the list.
const unitsListed = 40

// seatsListed is how many seats of a unit are listed before and after the one shown.
const seatsListed = 20

// looks are how a card can be looked at.
var looks = []Choice{
	{Value: "", Name: "As printed", Key: "1"},
	{Value: "arm", Name: "At arm’s length", Key: "2"},
	{Value: "red", Name: "In red light", Key: "3"},
	{Value: "copy", Name: "Photocopied", Key: "4"},
}

var zooms = []Choice{{Value: "", Name: "True size", Key: "0"}, {Value: "2", Name: "2×", Key: "+"}, {Value: "3", Name: "3×"}}

// chosen are choices with their addresses on a page.
func chosen(p *Page, name string, all []Choice) []Choice {
	all = slices.Clone(all)
	for i := range all {
		c := &all[i]
		c.Address, c.Here = p.With(name, c.Value), c.Value == p.Ask(name)
	}
	return all
}

// errNothing says that there is nothing to show yet.
var errNothing = errors.New("there is nothing to show until the plan has no errors: see Findings")

// good is the last text without errors.
func (p *Page) good() (*Good, error) {
	if p.State == nil || p.State.Good == nil || p.State.Good.Plan == nil {
		return nil, errNothing
	}
	return p.State.Good, nil
}

// whyNot is what keeps papers from being made, in one sentence or more.
func whyNot(err error) error {
	var refused *papers.Refused
	if errors.As(err, &refused) && refused.Cause == nil && len(refused.Found) > 0 {
		var b strings.Builder
		for i, f := range refused.Found {
			if i > 0 {
				b.WriteString("; ")
			}
			b.WriteString(f.Message)
			if len(f.Help) > 0 {
				b.WriteString(": " + f.Help[0])
			}
		}
		return errors.New(b.String())
	}
	if err != nil {
		return errors.New(said(err))
	}
	return nil
}

// seat is what a card's seat is called among those of its unit.
func seat(c *plan.Card) string {
	if c.Of > 1 {
		return c.Position.Name + " " + strconv.Itoa(c.Nth)
	}
	return c.Position.Name
}

func cardsData(p *Page) (any, error) {
	g, err := p.good()
	if err != nil {
		return nil, err
	}
	m, err := g.make(p.Ctx(), nil, true)
	if err != nil {
		return nil, whyNot(err)
	}
	faces := m.deck.Faces
	if len(faces) == 0 {
		return nil, errors.New("the plan has no units, so that there is no card")
	}
	at := cardAsked(p, faces)
	f := faces[at]
	v := &Cards{
		Card: f.Card, Unit: f.Card.Unit.Name, Size: m.deck.Size, Filter: p.Ask("find"),
		Side: p.Ask("side"), As: p.Ask("as"), Looks: chosen(p, "as", looks), Zoom: p.Ask("zoom"), Zooms: chosen(p, "zoom", zooms),
	}
	v.units(p, faces)
	for i, other := range faces {
		// Of a very large unit those around this seat: the arrows lead to the others.
		if other.Card.Unit == f.Card.Unit && max(i-at, at-i) <= seatsListed {
			v.Seats = append(v.Seats, SeatLink{seat(other.Card), p.With("card", i+1), i == at})
		}
	}
	if at > 0 {
		v.Before = p.With("card", at)
	}
	if at+1 < len(faces) {
		v.After = p.With("card", at+2)
	}
	name := f.Card.Unit.Name + ", " + seat(f.Card)
	language := m.job.Language()
	if v.Front, err = drawPanel(f.Front, "front of the card of "+name, language); err != nil {
		return nil, err
	}
	v.Back, err = drawPanel(f.Back, "back of the card of "+name, language)
	return v, err
}

// cardAsked is which card of the deck, from 0, the page is asked for.
func cardAsked(p *Page, faces []cards.Faces) int {
	if n, err := strconv.Atoi(p.Ask("card")); err == nil && 1 <= n && n <= len(faces) {
		return n - 1
	}
	if u := p.Ask("unit"); u != "" {
		if i := slices.IndexFunc(faces, func(f cards.Faces) bool { return f.Card.Unit.Name == u }); i >= 0 {
			return i
		}
	}
	return 0
}

// units lists units, a page of them: of a thousand nobody reads the rest.
func (v *Cards) units(p *Page, faces []cards.Faces) {
	var all []UnitLink
	here := 0
	for i, f := range faces {
		u := f.Card.Unit
		if n := len(all); n > 0 && all[n-1].Name == u.Name {
			all[n-1].Cards++
			continue
		}
		if !strings.Contains(strings.ToLower(u.Name+" "+u.Team+" "+u.Division), strings.ToLower(v.Filter)) {
			continue
		}
		if u.Name == v.Unit {
			here = len(all)
		}
		all = append(all, UnitLink{u.Name, u.Team, u.Division, p.With("card", i+1, "units", ""), 1, u.Name == v.Unit})
	}
	v.Of = len(all)
	from := here / unitsListed * unitsListed
	if n, err := strconv.Atoi(p.Ask("units")); err == nil && 1 <= n && n <= len(all) {
		from = n - 1
	}
	v.From = from + 1
	if from > 0 {
		v.Earlier = p.With("units", max(1, from+1-unitsListed))
	}
	if from+unitsListed < len(all) {
		v.Later = p.With("units", from+1+unitsListed)
	}
	v.Units = all[min(from, len(all)):min(from+unitsListed, len(all))]
}

// Sized is a card in one of the sizes.
type Sized struct {
	Size         layout.Size
	Here         bool // what the plan is printed in
	Front        Drawing
	Pages, Sheet int // of all cards, and sheets of paper
	Paper        string
	Not          string // why it cannot be
}

// Sizes are a card in all sizes.
type Sizes struct {
	Card  string
	Sizes []Sized
}

func sizesData(p *Page) (any, error) {
	g, err := p.good()
	if err != nil {
		return nil, err
	}
	v := &Sizes{}
	usual, err := g.make(p.Ctx(), nil, true)
	if err != nil {
		usual = nil // its own size does not hold it; others may
	}
	for _, size := range layout.CardSizes() {
		s := Sized{Size: size}
		flags := map[string]string{"size": size.Name, "cards": "true"}
		m, err := g.make(p.Ctx(), flags, true)
		if err == nil && len(m.deck.Faces) > 0 {
			f := m.deck.Faces[cardAsked(p, m.deck.Faces)]
			v.Card = f.Card.Unit.Name + ", " + seat(f.Card)
			s.Here = usual != nil && usual.deck.Size == m.deck.Size
			if s.Front, err = drawPanel(f.Front, size.Name+": front of the card of "+v.Card, m.job.Language()); err == nil {
				var sheets *made
				if sheets, err = g.make(p.Ctx(), flags, false); err == nil && len(sheets.job.Sheets) > 0 {
					c := paperCount(sheets.job.Sheets[0])
					s.Pages, s.Sheet, s.Paper = c.Pages, c.Sheets, c.Paper
				}
			}
		}
		if err != nil {
			s.Not = whyNot(err).Error()
		}
		v.Sizes = append(v.Sizes, s)
	}
	return v, nil
}

// outlined is a drawing in which the area of a line of the file is marked.
func (d Drawing) outlined(line int) (Drawing, bool) {
	marked := d.hit(`data-line="` + strconv.Itoa(line) + `"`)
	return marked, marked.SVG != d.SVG
}

// hit is a drawing in which areas with an attribute are marked.
func (d Drawing) hit(attribute string) Drawing {
	d.SVG = template.HTML(strings.ReplaceAll(string(d.SVG), attribute, attribute+` data-hit=""`))
	return d
}
