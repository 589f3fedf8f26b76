package words

import (
	"fmt"
	"strconv"
	"strings"

	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/radio"
)

// ChangeWords are the fixed words of the change sheet, and of the same changes
// as plain text. %name% stands for what is filled in.
type ChangeWords struct {
	WallWords

	Sheet                                                  string // title of the sheet: %period%
	SheetRevised                                           string // of a revision: %period% %old%
	Slots, Divisions, Units, Elsewhere                     string // headings
	Periods, OnePeriod                                     string // from %old% to %new%, in text; the %new% of two plans of one period
	OtherIncident, OtherLoad, Backwards                    string // said first: %old%, %new%
	NowExercise, NowReal                                   string // one of the two is an exercise
	Revised, RevisedBackwards                              string // of one period: %old%, %new%
	NumberMoved                                            string // a bare number in a text means another channel: %words% %old% %new%
	FreshNote                                              string // what follows from either
	CodeIs, CodeSame, CodeNew                              string // %new% %old%
	CodeByChance                                           string // %new%, of a list that is another one
	CodeAlone                                              string // nothing to rebuild
	NewList, GoneList, SameList, NothingElse               string // GoneList: %list%
	SlotIsNew                                              string // %slot% %name% %lead%, in text
	SlotIs                                                 string // %slot% %name% %lead%, before what changed
	SlotGone                                               string // %slot% %name%
	New, InPlaceOf, WasFor, WasSlot                        string // behind a slot: %old%
	NowBuilt, WasBuilt                                     string // before how a slot is built
	OtherSite                                              string // %site% %old% %tone%: another repeater
	OneShift, ManyShift                                    string // %from% %to% %now% %until% %by%
	Down, Up                                               string // how far: %by%
	ByOne                                                  string
	OneSlot, ManySlots                                     string // %n%
	ClearEnd, ClearEnds                                    string // %n%: positions behind the end
	Rx, Tx, RxTone, TxTone, ModeChange, WidthSaid          string // %new% %old%
	TalkgroupIs                                            string // %new% %old%: a talkgroup
	None                                                   string
	DivisionNew, DivisionGone                              string
	WorksOn, WorksNow, WorkedOn                            string // %on% %old%
	Beside, BesideNow                                      string // %ids% %old%
	NowCalled, NowUnder, Under                             string // %new% %old%
	Summary, SummaryKeep                                   string // %cards% %replace% %keep% %period%
	SummaryKeepRevision                                    string // %keep% %old%
	SummaryStrips                                          string // %strips%: where strips go with it
	Rebuilds, Builds, BuildsFresh, Seats, FewerSeats, Gone string // %slots%, %units%
	CodeOnly, Unchanged, NowIn                             string // %units%, %code%, %old%, %division%
	AllUnits                                               string // %n%
	MarksNow, MarksAlso, MarksNoLonger                     string // %marks% %now% %old%
	And                                                    string // between two marks
	AlsoChanged                                            string // %also%
	OneCard, ManyCards                                     string // %n%
	NoDivisionAtAll                                        string
	Key                                                    string // to the black numbers
	Comparison, GoneWord                                   string // of the picture: its title, and behind a slot that is gone
	LineSame, LineMoved, LineOther                         string // what its lines mean
	Modes                                                  [3]string
	Widths                                                 [2]string
}

// EnglishChanges are the English words of the change sheet.
var EnglishChanges = ChangeWords{
	WallWords: EnglishWall,

	Sheet:        "Change sheet, since operational period %period%",
	SheetRevised: "Change sheet, since revision %old% of operational period %period%",
	Slots:        "Slots", Divisions: "Divisions", Units: "Units and cards", Elsewhere: "Who listens elsewhere",
	Periods: "period %old% to period %new%", OnePeriod: "period %new%",
	NowExercise:      "the first plan is for a real incident, the second is an exercise: two incidents",
	NowReal:          "the first plan is an exercise, the second is for a real incident: no exercise card is of any use",
	NumberMoved:      "the text says %words%, which was %old% and is %new% now",
	Revised:          "revision %new% of the plan, was revision %old%",
	OtherIncident:    "another incident: %new%, was %old%",
	OtherLoad:        "another load: %new%, was %old%",
	Backwards:        "the first plan begins after the second: are the two swapped?",
	RevisedBackwards: "the first plan is revision %old%, the second is the older revision %new%: are the two swapped?",
	FreshNote:        "no old list is worth anything: clear it and build this one",
	CodeIs:           "read-back code %new%, was %old%",
	CodeByChance:     "another list with the same code, by chance: %new% does not tell them apart",
	CodeNew:          "a new list, read-back code %new%",
	CodeSame:         "same read-back code %new%",
	CodeAlone:        "nothing to rebuild, but who uses a slot differs, and so does the read-back code",
	NewList:          "a new list", GoneList: "list of %list%: nobody carries it any more",
	SameList:    "the list is the same",
	NothingElse: "no change",
	SlotIsNew:   "slot %slot% is new: %name%, %lead%",
	SlotIs:      "slot %slot% %name%, %lead%",
	SlotGone:    "slot %slot% of the old list, %name%, is gone",
	New:         "new in the list", InPlaceOf: "in place of %old%", WasFor: "was for %old%", WasSlot: "was slot %old%",
	NowBuilt: "now", WasBuilt: "was",
	OtherSite: "%site% repeats it, not %old%: set transmit tone %tone%, key it, wait for the burst",
	OneShift:  "slot %from% of the old list is %by%, now %now%",
	ManyShift: "slots %from%–%to% of the old list are %by%, now %now%–%until%",
	Down:      "%by% further down", Up: "%by% further up", ByOne: "one",
	OneSlot: "slot %n%", ManySlots: "slots %n%",
	ClearEnd: "clear slot %n% of the old list: the new one is shorter", ClearEnds: "clear slots %n% of the old list: the new one is shorter",
	Rx: "receive %new%, was %old%", Tx: "transmit %new%, was %old%",
	RxTone: "receive tone %new%, was %old%", TxTone: "transmit tone %new%, was %old%",
	ModeChange: "%new%, was %old%", WidthSaid: "%new%, was %old%", TalkgroupIs: "talkgroup %new%, was %old%",
	None:        "none",
	DivisionNew: "is new", DivisionGone: "is gone",
	WorksOn: "works on %on%", WorksNow: "works on %on%, not %old%", WorkedOn: "worked on %old%",
	Beside: "beside %ids%", BesideNow: "beside %ids%; was beside %old%",
	NowCalled: "now called %new%, was %old%", NowUnder: "supervisor %new%, was %old%", Under: "supervisor %new%",
	Summary:             "%replace% must be replaced",
	SummaryStrips:       "a strip changes %strips%",
	SummaryKeep:         "%keep% can keep the card of period %period%",
	SummaryKeepRevision: "%keep% can keep the card of revision %old%",
	Rebuilds:            "rebuild %slots%", Builds: "new here, build the list: %units%",
	BuildsFresh: "clear the old list, build this one: %units%",
	Seats:       "new seats, build the list: %units%", FewerSeats: "seats less, collect the cards: %units%",
	Gone:     "gone, collect the cards: %units%",
	CodeOnly: "same list, nothing to rebuild, but the read-back code is now %code%, was %old%: %units%", Unchanged: "same list, same code: %units%",
	NowIn:    "now %division%, was %old%: %units%",
	AllUnits: "all %n% units that stay",
	MarksNow: "%marks% %now%, not %old%", MarksAlso: "%marks% also %now%", MarksNoLonger: "%marks% no longer %old%",
	And:         "and",
	AlsoChanged: "beside the list: %also%",
	OneCard:     "1 card", ManyCards: "%n% cards",
	NoDivisionAtAll: "no division",
	Key:             "White on black: not programmed as before, build this slot anew.",
	Comparison:      "Old list and new list", GoneWord: "gone",
	LineSame: "the same channel", LineMoved: "the same, out of the old order", LineOther: "another channel in its place, or programmed otherwise",
	Modes: [3]string{"analog", "digital", "mixed"}, Widths: [2]string{"narrow", "wide"},
}

// ChangeText is a part of what changes, as plain text.
type ChangeText struct {
	Title string
	Lines []string
}

// Text says all that changes in sentences. The first part has no title: it is
// what must be known before anything else. A no-break space holds a name
// together.
func (w *ChangeWords) Text(c *changes.Changes) []ChangeText {
	first := ChangeText{Lines: flatten(w.first(c))}
	parts := []ChangeText{first}
	add := func(title string, lines []Sentence) {
		if len(lines) == 0 {
			lines = []Sentence{{{T: w.NothingElse}}}
		}
		parts = append(parts, ChangeText{title, flatten(lines)})
	}
	for _, l := range c.Lists {
		add(w.SlotsTitle(c, l), w.slotLines(c, l))
	}
	add(w.Divisions, w.DivisionLines(c))
	add(w.Units, w.UnitLines(c, 0))
	if lines := w.ElsewhereLines(c); len(lines) > 0 {
		add(w.Elsewhere, lines)
	}
	return parts
}

// SlotsTitle is the heading of a list's slots.
func (w *ChangeWords) SlotsTitle(c *changes.Changes, l *changes.List) string {
	if name := c.Name(l); name != "" {
		return w.Slots + ", " + strings.ToLower(w.List) + " " + name
	}
	return w.Slots
}

// phrase is a part of a sentence; what the eye looks for is loud.
type phrase struct {
	T    string
	Loud bool
}

type Sentence []phrase

// Whole is a name that stays on one line.
func Whole(name string) string { return strings.ReplaceAll(name, " ", layout.NoBreak) }

func Quiet(t string) Sentence { return Sentence{{T: t}} }
func Loud(t string) Sentence  { return Sentence{{T: t, Loud: true}} }

func flatten(lines []Sentence) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		for _, p := range l {
			out[i] += p.T
		}
	}
	return out
}

// FillIn puts sentences in place of %names%: pairs of name and sentence.
func FillIn(text string, pairs ...any) (s Sentence) {
	for text != "" {
		before, rest, found := strings.Cut(text, "%")
		s = append(s, phrase{T: before})
		if !found {
			break
		}
		name, after, _ := strings.Cut(rest, "%")
		for i := 0; i+1 < len(pairs); i += 2 {
			if pairs[i] == name {
				switch v := pairs[i+1].(type) {
				case string:
					s = append(s, phrase{T: v})
				case Sentence:
					s = append(s, v...)
				}
			}
		}
		text = after
	}
	return s
}

func joinSentences(parts []Sentence, by string) (s Sentence) {
	for i, p := range parts {
		if i > 0 {
			s = append(s, phrase{T: by})
		}
		s = append(s, p...)
	}
	return s
}

// NumberRuns writes ascending numbers, three or more in a row by their ends: "2, 5–9".
func NumberRuns(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		if j-i >= 2 {
			parts = append(parts, fmt.Sprintf("%d–%d", numbers[i], numbers[j]))
		} else {
			j = i
			parts = append(parts, strconv.Itoa(numbers[i]))
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}

func (w *ChangeWords) Some(one, many string, numbers []int) string {
	if len(numbers) == 1 {
		return Filled(one, "n", NumberRuns(numbers))
	}
	return Filled(many, "n", NumberRuns(numbers))
}

func (w *ChangeWords) cards(n int) string {
	if n == 1 {
		return w.OneCard
	}
	return Filled(w.ManyCards, "n", strconv.Itoa(n))
}

// Notices must be known before anything else.
func (w *ChangeWords) Notices(c *changes.Changes) (lines []string) {
	revision := func(r *plan.Resolved) string { return strconv.Itoa(max(1, r.Plan.Incident.Revision)) }
	switch {
	case c.Exercise && c.New.Plan.Incident.Exercise:
		lines = append(lines, w.NowExercise)
	case c.Exercise:
		lines = append(lines, w.NowReal)
	case c.Revision && c.Backwards:
		lines = append(lines, Filled(w.RevisedBackwards, "new", revision(c.New), "old", revision(c.Old)))
	case c.Revision:
		lines = append(lines, Filled(w.Revised, "new", revision(c.New), "old", revision(c.Old)))
	}
	if c.Backwards && !c.Revision {
		lines = append(lines, w.Backwards)
	}
	if c.OtherIncident && !c.Exercise {
		called := func(r *plan.Resolved) string {
			return strings.TrimSpace(r.Plan.Incident.Name + " " + r.Plan.Incident.Number)
		}
		lines = append(lines, Filled(w.OtherIncident, "new", called(c.New), "old", called(c.Old)))
	}
	if c.OtherLoad {
		called := func(r *plan.Resolved) string {
			return r.Load.About.Name + " " + r.Load.About.Edition + " " + r.Load.About.Colour
		}
		lines = append(lines, Filled(w.OtherLoad, "new", called(c.New), "old", called(c.Old)))
	}
	if c.Fresh() {
		lines = append(lines, w.FreshNote)
	}
	for _, n := range c.Numbers {
		lines = append(lines, Filled(w.NumberMoved, "words", n.Words, "old", n.Was.Channel.Name, "new", n.Is.Channel.Name))
	}
	return lines
}

func (w *ChangeWords) first(c *changes.Changes) (lines []Sentence) {
	for _, n := range w.Notices(c) {
		lines = append(lines, Loud(n))
	}
	in := c.New.Plan.Incident
	text := w.Periods
	if c.Old.Plan.Incident.Period == in.Period {
		text = w.OnePeriod // which revisions is said above
	}
	period := Filled(text, "old", strconv.Itoa(c.Old.Plan.Incident.Period), "new", strconv.Itoa(in.Period))
	return append(lines, Sentence{{T: in.Name + ", " + period}})
}

// SheetTitle is the title of the change sheet.
func (w *ChangeWords) SheetTitle(c *changes.Changes) string {
	was := &c.Old.Plan.Incident
	text := w.Sheet
	if c.Revision {
		text = w.SheetRevised
	}
	return Filled(text, "period", strconv.Itoa(was.Period), "old", strconv.Itoa(max(1, was.Revision)))
}

// CodeLine says what becomes of the read-back code of a list that stays.
func (w *ChangeWords) CodeLine(l *changes.List) Sentence {
	switch {
	case !l.CodeChanged() && !l.Same():
		return FillIn(w.CodeByChance, "new", Loud(Whole(l.New.Code.Pairs())))
	case !l.CodeChanged():
		return FillIn(w.CodeSame, "new", Loud(Whole(l.New.Code.Pairs())))
	}
	return FillIn(w.CodeIs, "new", Loud(Whole(l.New.Code.Pairs())), "old", Whole(l.Old.Code.Pairs()))
}

// slotLines say how the new list comes from the old one.
func (w *ChangeWords) slotLines(c *changes.Changes, l *changes.List) (lines []Sentence) {
	switch {
	case l.New == nil:
		return []Sentence{FillIn(w.GoneList, "list", l.Old.Name(c.Old))}
	case l.Old == nil:
		return []Sentence{Quiet(w.NewList + ": " + w.Some(w.OneSlot, w.ManySlots, l.Rebuild) + ", " + strings.ToLower(w.ReadBackCode) + " " + Whole(l.New.Code.Pairs()))}
	case l.Same():
		return []Sentence{Quiet(w.SameList), w.CodeLine(l)}
	}
	lines = append(lines, w.CodeLine(l))
	if len(l.Rebuild)+len(l.Clear) == 0 && !c.Fresh() {
		lines = append(lines, Loud(w.CodeAlone))
	}
	for _, s := range l.Slots {
		switch {
		case s.Has(changes.Added):
			lines = append(lines, FillIn(w.SlotIsNew, "slot", strconv.Itoa(s.Is), "name", Loud(Whole(s.New.Channel.Name)), "lead", w.Lead(s.New)))
		case s.Has(changes.Removed):
			lines = append(lines, FillIn(w.SlotGone, "slot", strconv.Itoa(s.Was), "name", Loud(Whole(s.Old.Channel.Name))))
		default:
			said := FillIn(w.SlotIs, "slot", strconv.Itoa(s.Is), "name", Loud(Whole(s.New.Channel.Name)), "lead", w.Lead(s.New))
			var what []Sentence
			for _, t := range w.Became(s) {
				what = append(what, Quiet(t))
			}
			if shifted := !s.Has(changes.Moved) && !s.Has(changes.Replaced) && !s.Has(changes.Retuned); s.Was != s.Is && !shifted {
				what = append(what, FillIn(w.WasSlot, "old", strconv.Itoa(s.Was)))
			}
			lines = append(lines, append(append(said, phrase{T: ": "}), joinSentences(what, "; ")...))
		}
	}
	for _, s := range l.Shifts {
		by, way := s.By, w.Down
		if by < 0 {
			by, way = -by, w.Up
		}
		far := strconv.Itoa(by)
		if by == 1 {
			far = w.ByOne
		}
		text := w.ManyShift
		if s.From == s.To {
			text = w.OneShift
		}
		lines = append(lines, FillIn(text, "from", strconv.Itoa(s.From), "to", strconv.Itoa(s.To), "by", Filled(way, "by", far),
			"now", strconv.Itoa(s.From+s.By), "until", strconv.Itoa(s.To+s.By)))
	}
	if len(l.Clear) > 0 {
		lines = append(lines, Loud(w.Some(w.ClearEnd, w.ClearEnds, l.Clear)))
	}
	return lines
}

// Became says what a slot that stays in the list has become, but for its place.
func (w *ChangeWords) Became(s *changes.Slot) (out []string) {
	if s.Has(changes.Replaced) {
		out = append(out, Filled(w.InPlaceOf, "old", Whole(s.Old.Channel.Name)))
	}
	if s.Has(changes.Retuned) {
		out = append(out, w.retuned(s.Old, s.New)...)
	}
	if s.Has(changes.Reassigned) {
		out = append(out, Filled(w.WasFor, "old", w.Lead(s.Old)))
	}
	return out
}

// retuned says in what the programming of two slots differs.
func (w *ChangeWords) retuned(old, new *plan.ResolvedSlot) (out []string) {
	a, b := old.Channel, new.Channel
	say := func(text, was, is string) {
		if was != is {
			out = append(out, Filled(text, "new", is, "old", was))
		}
	}
	tone := func(s radio.Squelch) string {
		if s.IsZero() {
			return w.None
		}
		return s.String()
	}
	frequency := func(c *plan.Channel, f radio.Hertz) string {
		if c.Trunked() {
			return w.None
		}
		return f.String()
	}
	group := func(c *plan.Channel) string {
		if c.Trunked() {
			return c.System + " " + c.Talkgroup
		}
		return w.None
	}
	say(w.TalkgroupIs, group(a), group(b))
	say(w.Rx, frequency(a, a.Rx), frequency(b, b.Rx))
	say(w.Tx, frequency(a, a.Tx), frequency(b, b.Tx))
	say(w.RxTone, tone(a.RxTone), tone(b.RxTone))
	say(w.TxTone, tone(old.TxTone), tone(new.TxTone))
	say(w.ModeChange, w.Modes[a.Mode], w.Modes[b.Mode])
	say(w.WidthSaid, w.Widths[a.Width], w.Widths[b.Width])
	return out
}
