// Package words holds every fixed word on paper, in each of [Languages], and makes
// the sentences that several papers share. Start with [Speak].
package words

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"slotcard/layout"
	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/slotlist"
)

// CardWords are the fixed words of cards in one language. Names and the plan's own
// text stay as written.
type CardWords struct {
	Language string // BCP 47

	Talk, Priority, Scan string
	Exercise             string
	Period               string         // before the number of the operational period
	Revision             string         // before the number of a revision
	Division, Group      string         // in full, before an id
	Div, Grp             string         // short, before an id
	Lists                plan.ListWords // of the name of a list
	Named                plan.FillWords // of a slot that a text names in braces
	Direct               string
	Tone                 string // before the agency's number of a tone
	// For a card that has no room for Tone and Priority; the same where they are short.
	ToneShort, PriorityShort string
	Talkgroup                string
	GuardRest                string    // behind the word for guard
	Uses                     [8]string // by radio.Use
	Months                   [12]string

	Load                string
	TurnTo              string // %name%: the channel whose name carries the edition
	Supervisor          string // before the name of a division's supervisor
	Contact             string // before how the communications unit is reached
	Beside              string // before who leads the neighbors
	Card                string // before the number of the card
	List                string // before the name of a list
	FrontNote           string // the caution of the front
	Rebuild, RebuildOne string // before the slots that changed
	BuildList           string // the holder had no list before
	SameList            string // before the number of the period with the same list
	SameAsRevision      string // before the number of the revision with the same list
	NewCode             string // behind it: the read-back code is another one
	ClearOne, ClearMany string // before positions that must be emptied
	ListenElsewhere     string // talk, priority or scan are on other slots than before

	Code                              string
	CodePicture                       string     // what the QR code is, for who hears the page and does not see it
	Digits                            [10]string // spelled, in the code
	Where, Receive, Transmit, ToneCol string     // heads of the build table
	Checks                            []string   // up to a list that is built; %color% %edition% %code% are filled in, as below
	Walk                              string     // a check of two people, slot by slot
	LastSlot, LastSlotEmpty           string     // %name% of the last slot; behind it there is an empty position
	ChecksThen                        []string   // after these
	Cautions                          []string   // in full
	CautionsShort                     []string   // where there is little room
	AcceptedOne, AcceptedMany         string     // how many exceptions the plan accepts; %n% is filled in
	LegendDirect, LegendRepeated      string
	LegendGuard, LegendChanged        string
	LegendDigital, LegendMixed        string // behind D, M and W in the build table
	LegendWide                        string

	Sheet      string    // before the number of a sheet
	ScaleNotes [4]string // both sides flipped on the long or short edge, folded, fronts only: beside the rule that checks the printer's scale
}

// English words of the cards.
var English = CardWords{
	Language: "en",
	Talk:     "TALK", Priority: "PRIORITY", Scan: "SCAN",
	Exercise: "EXERCISE",
	Period:   "Period", Revision: "rev",
	Division: "Division", Group: "Group",
	Div: "Div", Grp: "Group",
	Named:  plan.EnglishFill,
	Lists:  plan.EnglishLists,
	Direct: "direct",
	Tone:   "tone", ToneShort: "tone", PriorityShort: "PRIORITY",
	Talkgroup: "talkgroup",
	GuardRest: "emergency only",
	Uses:      [8]string{"", "Command", "Tactical", "Air-to-ground", "Guard", "Support", "Travel", "Medical"},
	Months:    [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"},
	Load:      "Load", TurnTo: "turn to %name%: its name shows the edition", Card: "Card", List: "List",
	Supervisor: "Supervisor", Contact: "Communications unit", Beside: "Beside you",
	FrontNote: "The plan decides. Authorized users only.",
	Rebuild:   "REBUILD: slots", RebuildOne: "REBUILD: slot", BuildList: "BUILD the list", SameList: "same list as period", SameAsRevision: "same list as rev",
	NewCode: "new code", ClearOne: "clear slot", ClearMany: "clear slots", ListenElsewhere: "listen elsewhere",
	Code: "Code", CodePicture: "QR code: the list as text",
	Digits: [10]string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"},
	Where:  "where", Receive: "receive", Transmit: "transmit", ToneCol: "tones RX/TX",
	Checks: []string{
		"fresh batteries", "%color% label", "edition %edition%", "old list cleared", "list built",
	},
	Walk:          "two people: one turns and reads the display, the other follows here and ticks each slot",
	LastSlot:      "turn to the last slot: %name%",
	LastSlotEmpty: "turn to the last slot: %name%; one further: the empty warning",
	ChecksThen:    []string{"read back %code%", "controls locked"},
	Cautions: []string{
		"The approved communications plan and the communications unit leader decide; this card only repeats them.",
		"Transmit only where you are licensed or authorized at this incident.",
		"Radio check before you engage.",
	},
	CautionsShort: []string{
		"The approved plan decides. Licensed or authorized users only.",
		"Radio check before you engage.",
	},
	AcceptedOne: "1 exception accepted: see the wall sheet.", AcceptedMany: "%n% exceptions accepted: see the wall sheet.",
	LegendDirect: "direct", LegendRepeated: "through a repeater", LegendGuard: "guard", LegendChanged: "changed",
	LegendDigital: "digital", LegendMixed: "mixed", LegendWide: "wide",
	Sheet: "sheet",
	ScaleNotes: [4]string{
		"50 mm: print at actual size, both sides, flip on the long edge",
		"50 mm: print at actual size, both sides, flip on the short edge",
		"50 mm: print at actual size, one side, fold along the broken line",
		"50 mm: print at actual size, one side; no backs",
	},
}

// day is a date without year, such as 14 Aug.
func (w *CardWords) day(t time.Time) string {
	return fmt.Sprintf("%d %s", t.Day(), w.Months[t.Month()-1])
}

// Hours is the span of a period by the 24-hour clock, its days named once where
// they are the same.
func (w *CardWords) Hours(from, to time.Time) string {
	const clock = "15:04"
	if plan.DateOf(from) == plan.DateOf(to) {
		return w.day(from) + " " + from.Format(clock) + "–" + to.Format(clock)
	}
	return w.day(from) + " " + from.Format(clock) + " – " + w.day(to) + " " + to.Format(clock)
}

// Issue tells a revision from what the period began with: "rev 2 13:05", and ""
// for the first issue.
func (w *CardWords) Issue(in *plan.Incident) string {
	if in.Revision < plan.FirstRevision {
		return ""
	}
	said := fmt.Sprintf("%s %d", w.Revision, in.Revision)
	if in.RevisedAt.IsZero() {
		return said
	}
	return said + " " + w.Clock(in, in.RevisedAt)
}

// Clock is a time within a period, on the clock of its start; in a period of more
// than a day with the day.
func (w *CardWords) Clock(in *plan.Incident, t time.Time) string {
	t = t.In(in.From.Location())
	if in.To.Sub(in.From) > 24*time.Hour {
		return w.day(t) + " " + t.Format("15:04")
	}
	return t.Format("15:04")
}

// Numbered is a word for the period with its number, and the revision: "Period 2",
// "Period 2, rev 2 13:05".
func (w *CardWords) Numbered(period string, in *plan.Incident) string {
	return Joined(fmt.Sprintf("%s %d", period, in.Period), w.Issue(in))
}

// FillText is a text of the plan with slots in place of the names in braces, for
// readers of list l; nil: for everybody.
func (w *CardWords) FillText(r *plan.Resolved, text string, l *plan.List) string {
	var d *plan.Division
	if l != nil && len(l.Divisions) == 1 && !l.Shared {
		d = l.Divisions[0]
	}
	return w.FillFor(r, text, l, d)
}

// FillFor is that for readers of division d, nil: of no one; a number stays on the line
// of the word before it: "slot 9", "mile 4".
func (w *CardWords) FillFor(r *plan.Resolved, text string, l *plan.List, d *plan.Division) string {
	named := w.Named
	named.Slot = Whole(named.Slot)
	return numbered.ReplaceAllString(r.Fill(text, l, d, &named), "$1"+layout.NoBreak+"$2")
}

// numbered is a word and the short number behind it.
var numbered = regexp.MustCompile(`(\pL) (\d{1,4}\b)`)

// divisions names who uses a slot, short: "Div A", "Div A, B", "Group SP".
func (w *CardWords) divisions(users []*plan.Division) string {
	var line, functional []string
	for _, d := range users {
		if d.Functional {
			functional = append(functional, d.ID)
		} else {
			line = append(line, d.ID)
		}
	}
	var parts []string
	if len(line) > 0 {
		parts = append(parts, w.Div+" "+strings.Join(line, ", "))
	}
	if len(functional) > 0 {
		parts = append(parts, w.Grp+" "+strings.Join(functional, ", "))
	}
	return strings.Join(parts, ", ")
}

// Called is what a division is called in full.
func (w *CardWords) Called(d *plan.Division) string {
	if d.Functional {
		return w.Group + " " + d.ID
	}
	return w.Division + " " + d.ID
}

// ListName tells lists apart: "" where the plan has a single one.
func (w *CardWords) ListName(l *plan.List, r *plan.Resolved) string { return l.NameIn(r, w.Lists) }

// Spelled is a read-back code as it is said: letters by the spelling alphabet
// that is the same in all languages (ITU Radio Regulations, Appendix 14;
// secondary), digits in the language of the paper.
func (w *CardWords) Spelled(c slotlist.Code) string {
	said := strings.Fields(c.Words())
	for i, r := range c {
		if r >= '0' && r <= '9' {
			said[i] = w.Digits[r-'0']
		}
	}
	return strings.Join(said, " ")
}

// DivisionName is what a division is called beside its id: "" where the name
// only says the id again.
func (w *CardWords) DivisionName(d *plan.Division) string {
	for _, again := range []string{d.ID, d.Title(), w.Called(d), w.divisions([]*plan.Division{d})} {
		if strings.EqualFold(d.Name, again) {
			return ""
		}
	}
	return d.Name
}

// Lead says what a slot is for in the fewest words: its divisions where it has
// some, else its use.
func (w *CardWords) Lead(s *plan.ResolvedSlot) string {
	if len(s.Users) == 0 {
		return w.Uses[s.Use]
	}
	if s.Use == radio.Tactical {
		return w.divisions(s.Users)
	}
	return w.Uses[s.Use] + " " + w.divisions(s.Users)
}

// Short are the words with the short ones where there are such.
func (w *CardWords) Short() *CardWords {
	short := *w
	short.Tone, short.Priority = w.ToneShort, w.PriorityShort
	return &short
}

// Openers say what opens the repeater of a slot, the fullest wording first.
func (w *CardWords) Openers(site *plan.Site, number int, tone radio.Squelch) []string {
	said := ""
	switch {
	case number > 0:
		said = fmt.Sprintf("%s %d", w.Tone, number)
	case tone.Kind == radio.CTCSS:
		said = w.Tone + " " + tone.String()
	case !tone.IsZero():
		said = tone.String() // D and N say themselves what they are
	}
	switch {
	case site != nil && said != "":
		return []string{site.Name + " " + said, said}
	case site != nil:
		return []string{site.Name}
	case said != "":
		return []string{said}
	}
	return []string{w.LegendRepeated, ""} // by carrier alone
}

// Titled is a text behind its title, "" where there is no text.
func Titled(title, text string) string {
	if text == "" {
		return ""
	}
	return title + " " + text
}

// Joined is both texts, with a comma where there are two.
func Joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// Kind is the mode and width of a channel as the list text abbreviates them, "" for
// analog and narrow.
func Kind(c *plan.Channel) string {
	var parts []string
	switch c.Mode {
	case radio.Digital:
		parts = append(parts, "D")
	case radio.Mixed:
		parts = append(parts, "M")
	}
	if c.Width == radio.Wide {
		parts = append(parts, "W")
	}
	return strings.Join(parts, " ")
}

// Accepted says that the plan accepts so many exceptions; "" where it has none.
func (w *CardWords) Accepted(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return w.AcceptedOne
	}
	return strings.ReplaceAll(w.AcceptedMany, "%n%", strconv.Itoa(n))
}
