package words

import (
	"strconv"
	"strings"

	"slotcard/plan"
)

// FireWords are the fixed words of the sheet that shows the divisions around the
// fire, and of the same as plain text. %name% stands for what is filled in.
type FireWords struct {
	WallWords

	Title                string // of the sheet
	ForAll               string // before the slots that no division has to itself
	Hears                string // before slots
	HearsKey             string // what a slot in a round frame means
	Beside               string // %ids%
	NoUnits              string
	Order                string // how the ring is read
	LinesKey             string // how lines are read
	Talks                string // %slots%, in text
	Supervisor           string // %name%, in text
	FunctionalGroup      string // %id%, in text
	Units                string // before units, in text
	Troubles, NoTroubles string // heading, and what is said where the rules find none
	Product, TooClose    string // %sum% or %from%, %onto%
}

// EnglishFire are the English words of the sheet of the fire.
var EnglishFire = FireWords{
	WallWords: EnglishWall,

	Title:           "Divisions around the fire",
	ForAll:          "For everybody",
	Order:           "Divisions in order around the fire: clockwise on this page, the first one left of the foot of the ring.",
	LinesKey:        "broken lines come from those who talk at once, arrows point to whom they disturb; arrows to both: too close.",
	Hears:           "hears",
	HearsKey:        "somebody there hears it",
	Beside:          "beside %ids%",
	NoUnits:         "no units",
	Talks:           "talks on %slots%",
	Supervisor:      "supervisor %name%",
	FunctionalGroup: "Functional group %id%",
	Units:           "units",
	Troubles:        "What disturbs what",
	NoTroubles:      "Nothing that the rules would change.",
	Product:         "%sum% falls on %onto%",
	TooClose:        "%from% and %onto% are too close",
}

// ids are the names of divisions.
func ids(divisions []*plan.Division) string {
	var all []string
	for _, d := range divisions {
		all = append(all, d.ID)
	}
	return strings.Join(all, ", ")
}

// BesideWhom says what a division stands beside, "" where that is nothing.
func (w *FireWords) BesideWhom(p plan.Post) string {
	if len(p.Beside) == 0 {
		return ""
	}
	return Filled(w.Beside, "ids", ids(p.Beside))
}

// Disturbs says what disturbs what.
func (w *FireWords) Disturbs(t plan.Trouble) string {
	name := func(s *plan.ResolvedSlot) string { return Whole(s.Channel.Name) }
	if !t.ThirdOrder() {
		return Filled(w.TooClose, "from", name(t.From[0]), "onto", name(t.Onto))
	}
	sum := "2 × " + name(t.From[0]) + " − " + name(t.From[1])
	if len(t.From) > 2 {
		sum = name(t.From[0]) + " + " + name(t.From[1]) + " − " + name(t.From[2])
	}
	return Filled(w.Product, "sum", sum, "onto", name(t.Onto))
}

// slots are slots of a list by number and name.
func (w *FireWords) slots(p plan.Post, which []int) string {
	var all []string
	for _, i := range which {
		all = append(all, w.numbered(i+1, p.List.Slots[i]))
	}
	return strings.Join(all, ", ")
}

func (w *FireWords) numbered(n int, s *plan.ResolvedSlot) string {
	if n == 0 {
		return Whole(s.Channel.Name)
	}
	return Whole(strings.ToLower(w.Slot) + " " + strconv.Itoa(n) + " " + s.Channel.Name)
}

// Text says all that the sheet of the fire shows in sentences: what is for
// everybody, each division in order around the fire, the groups among them as the
// plan has them, and what disturbs what. A no-break space holds a name together.
func (w *FireWords) Text(r *plan.Resolved, troubles []plan.Trouble) []ChangeText {
	all := ChangeText{Title: w.ForAll}
	for _, s := range r.Common() {
		all.Lines = append(all.Lines, w.numbered(r.Position(s), s)+", "+w.Uses[s.Use])
	}
	parts := []ChangeText{all}
	for _, p := range r.Posts() {
		part := ChangeText{Title: w.NoDivision}
		if d := p.Division; d != nil {
			part.Title = w.Called(d)
			if d.Functional {
				part.Title = Filled(w.FunctionalGroup, "id", d.ID)
			}
			if d.Name != "" {
				part.Title += ", " + d.Name
			}
			supervisor := w.NoSupervisor
			if d.Supervisor != "" {
				supervisor = Filled(w.Supervisor, "name", d.Supervisor)
			}
			part.Lines = append(part.Lines, supervisor)
		}
		if len(p.Talks) > 0 {
			part.Lines = append(part.Lines, Filled(w.Talks, "slots", w.slots(p, p.Talks)))
		} else {
			part.Lines = append(part.Lines, w.NoSlot)
		}
		if len(p.Hears) > 0 {
			part.Lines = append(part.Lines, w.Hears+" "+w.slots(p, p.Hears))
		}
		if beside := w.BesideWhom(p); beside != "" {
			part.Lines = append(part.Lines, beside)
		}
		var units []string
		for _, u := range p.Units {
			units = append(units, Whole(u.Name))
		}
		if units == nil {
			part.Lines = append(part.Lines, w.NoUnits)
		} else {
			part.Lines = append(part.Lines, w.Units+": "+strings.Join(units, ", "))
		}
		parts = append(parts, part)
	}
	last := ChangeText{Title: w.Troubles}
	for _, t := range troubles {
		last.Lines = append(last.Lines, w.Disturbs(t))
	}
	if troubles == nil {
		last.Lines = []string{w.NoTroubles}
	}
	return append(parts, last)
}
