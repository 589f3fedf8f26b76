package words

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
)

// SheetWords are the fixed words that the wall sheet and the hand-out sheet
// share. %name% stands for what is filled in.
type SheetWords struct {
	CardWords // of the cards, so that paper says a thing in one way

	ExerciseNote string // beside the exercise mark
	Zone         string // before the offset of all times from UTC
	Page         string // page %i% of %n%
	Again        string // behind a heading that is repeated on a further page
	NoDivision   string
	ReadBackCode string
	ListOf       string   // %name%: one of several lists
	SheetNotes   []string // the cautions
	StepApart    string   // behind them where there is room
}

// WallWords are the fixed words of the wall sheet. The headings follow the
// block and column titles of form ICS 205 (ics_forms.csv, secondary).
type WallWords struct {
	SheetWords

	Title                                         string // of the sheet
	Number, OperationalPeriod, Prepared           string // facts of the head
	PreparedBy                                    string
	LoadEdition                                   string
	EditionShown                                  string // %names%
	Channels                                      string // heading of the list
	Slot, Name, DivisionHead, Function, Remarks   string // its columns
	GroupChannel, Mode, Frequency, ToneNAC        string
	ReceiveShort, TransmitShort                   string
	NoTone                                        string
	NarrowLetter, WideLetter                      string
	ModeLetters                                   [3]string // by radio.Mode
	DirectNote, RepeatedBy, Repeated              string    // RepeatedBy: %site%
	System                                        string
	Everybody                                     string // a slot without divisions
	CarriedBy                                     string // %ids%
	ScanSymbol                                    string // what the QR code is for
	Assignments                                   string
	Tactical, CrewHead, NoSupervisor              string
	NoSlot                                        string // a division without a slot of its own
	Listening                                     string // heading: who scans what
	PositionHead, TalkKey, PriorityKey, ScanKey   string
	Instructions, NoInstructions                  string
	Exceptions, Because, AnsweredBy, NoExceptions string
	OutOfList                                     string
	ReadFrom, FinePrint                           string // %m%: meters from which it is read

	// Of the grid: divisions across, slots down.
	GridTitle string // heading: who talks and listens where
	Everyone  string // in place of all positions of a division
	AllBut    string // %names%: all positions but these
	NoCards   string // of a division in which nobody carries a card
	Tile      string // %i% of %n%
	TilePlace string // %row% %column%
	TileNote  string // how tiles are put together
}

// EnglishSheet are the English words that both sheets share.
var EnglishSheet = SheetWords{
	CardWords:    English,
	ExerciseNote: "not a real incident",
	Zone:         "all times UTC",
	Page:         "page %i% of %n%",
	Again:        "continued",
	NoDivision:   "No division",
	ReadBackCode: "Read-back code",
	ListOf:       "list of %name%",
	SheetNotes: []string{
		"The approved communications plan of the incident and the communications unit leader decide; this sheet only repeats them. If they differ, the plan is right.",
		"Transmit only on channels for which you are licensed or authorized at this incident; local codes, agency policy and licensed radio practice come first.",
		"Confirm by a radio check before you engage.",
	},
	StepApart: "Two radios side by side deafen each other: step apart.",
}

// EnglishWall are the English words of the wall sheet.
var EnglishWall = WallWords{
	SheetWords: EnglishSheet,

	Title:  "Incident radio communications plan",
	Number: "Incident number", OperationalPeriod: "Operational period", Prepared: "Date and time prepared",
	PreparedBy:   "Prepared by",
	LoadEdition:  "Load",
	EditionShown: "shown by %names%",
	Channels:     "Basic radio channel use",
	Slot:         "Slot", Name: "Channel name", DivisionHead: "Division", Function: "Function, assignment", Remarks: "Remarks",
	GroupChannel: "Group-ch", Mode: "Mode", Frequency: "Frequency, N or W", ToneNAC: "Tone/NAC",
	ReceiveShort: "RX", TransmitShort: "TX",
	NoTone:       "none",
	NarrowLetter: "N", WideLetter: "W",
	ModeLetters: [3]string{"A", "D", "M"},
	DirectNote:  "direct", RepeatedBy: "repeated by %site%", Repeated: "repeated",
	System:      "system",
	Everybody:   "everybody",
	CarriedBy:   "only in the list of %ids%",
	ScanSymbol:  "Scan for the list as plain text; no network is needed. Same code, same list.",
	Assignments: "Assignments",
	Tactical:    "Tactical channel", CrewHead: "Name, supervisor, units", NoSupervisor: "no supervisor named",
	NoSlot:       "no channel of its own",
	Listening:    "Who scans what",
	PositionHead: "Position", TalkKey: "talks here", PriorityKey: "priority", ScanKey: "scanned",
	Instructions: "Special instructions", NoInstructions: "None.",
	Exceptions: "Accepted exceptions", Because: "because", AnsweredBy: "answered for by", NoExceptions: "None.",
	OutOfList: "Not in the list",
	ReadFrom:  "readable from %m% m", FinePrint: "fine print from %m% m",

	GridTitle: "Who talks and listens where",
	Everyone:  "everyone",
	AllBut:    "all but %names%",
	NoCards:   "no cards",
	Tile:      "tile %i% of %n%",
	TilePlace: "row %row%, column %column%",
	TileNote:  "Cut left and upper edges along the marks; lay each tile on the one to its left, then row on row, so that the marks become whole.",
}

// HandoutWords are the fixed words of the hand-out sheet.
type HandoutWords struct {
	SheetWords

	Title                                         string
	CardHead, Unit, Seat, DivisionHead, ListCode  string // columns
	Batteries, Label, Built, ReadBack, Initials   string // Label: %color%
	NthOf                                         string // %i% of %n%
	EachSlot                                      string // over a column for each slot
	Reprint                                       string // %time%: a card that is printed again
	NoTeam                                        string // heading of the units without a team
	OneUnit, ManyUnits, OneCard, ManyCards, Whole string // counts: %n%; Whole: %cards% of the whole incident
	HowTo                                         string
}

// EnglishHandout are the English words of the hand-out sheet.
var EnglishHandout = HandoutWords{
	SheetWords: EnglishSheet,

	Title:    "Hand-out sheet",
	CardHead: "Card", Unit: "Unit", Seat: "Seat", DivisionHead: "Division", ListCode: "Code",
	Batteries: "fresh batteries", Label: "label %color%", Built: "list built", ReadBack: "read back", Initials: "Initials",
	EachSlot: "each slot turned to and read",
	NthOf:    "%i% of %n%", Reprint: "reprint %time%",
	NoTeam:  "Units without a team",
	OneUnit: "1 unit", ManyUnits: "%n% units", OneCard: "1 card", ManyCards: "%n% cards",
	Whole: "of %cards% for the incident",
	HowTo: "Tick what you have seen, then let the holder initial.",
}

// Filled puts values in place of %names%: pairs of name and value.
func Filled(text string, pairs ...string) string {
	var b strings.Builder
	for text != "" {
		before, rest, found := strings.Cut(text, "%")
		b.WriteString(before)
		if !found {
			break
		}
		text = rest
		value, filled := "%", false
		for i := 0; i+1 < len(pairs) && !filled; i += 2 {
			if behind, ok := strings.CutPrefix(rest, pairs[i]+"%"); ok {
				text, value, filled = behind, pairs[i+1], true
			}
		}
		b.WriteString(value)
	}
	return b.String()
}

// PageOf is the number of a page.
func (w *SheetWords) PageOf(i, n int) string {
	return Filled(w.Page, "i", strconv.Itoa(i), "n", strconv.Itoa(n))
}

// OneList is what a list is called beside others, "" where it is the only one.
func (w *SheetWords) OneList(l *plan.List, r *plan.Resolved) string {
	if name := w.ListName(l, r); name != "" {
		return Filled(w.ListOf, "name", name)
	}
	return ""
}

const clock24 = "15:04"

// date is a day with its year, such as 14 Aug 2027.
func (w *SheetWords) date(t time.Time) string {
	return fmt.Sprintf("%d %s %d", t.Day(), w.Months[t.Month()-1], t.Year())
}

// Stamp is a day and time by the 24-hour clock.
func (w *SheetWords) Stamp(t time.Time) string { return w.date(t) + " " + t.Format(clock24) }

// Span is a period: its day named once where both ends fall on it.
func (w *SheetWords) Span(from, to time.Time) string {
	if plan.DateOf(from) == plan.DateOf(to) {
		return w.Stamp(from) + "–" + to.Format(clock24)
	}
	return w.Stamp(from) + " – " + w.Stamp(to)
}

// ZoneOf says once how far all times of a sheet are from UTC.
func (w *SheetWords) ZoneOf(t time.Time) string {
	return w.Zone + strings.Replace(t.Format("-07:00"), "-", "−", 1)
}

// Times are the ends of the period and the time of preparation on the clock of
// the period's start, so that a sheet needs one offset only.
func Times(in *plan.Incident) (from, to, prepared time.Time) {
	_, offset := in.From.Zone()
	zone := time.FixedZone("", offset)
	return in.From.In(zone), in.To.In(zone), in.PreparedAt.In(zone)
}
