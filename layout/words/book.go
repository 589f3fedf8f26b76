package words

import (
	"fmt"

	"slotcard/plan"
)

// BookWords are the fixed words of the book of the load. %name% stands for what
// is filled in.
type BookWords struct {
	SheetWords // shared with the other paper, so that it says a thing in one way

	ExerciseNote             string // in place of that of the other paper
	Title                    string // below the name of the load
	EditionHead              string
	Valid                    string // %from% %to%
	Current, Turn, Label     string // is this radio current; Turn: %names%; Label: %color%
	Holds                    string // %groups% %channels%
	OneGroup, ManyGroups     string // %n%
	OneChannel, ManyChannels string // %n%
	Contents                 string
	PageHead                 string
	TonesAndSites            string
	Tones, Sites             string
	ByFrequency, ByName      string // as in the contents
	Frequencies, Names       string // as at the head of their pages
	Talkgroups               string // those that have no frequency
	Notes                    string
	HowToRead                string
	NoChannels               string // a group without any
	ReceiveOnly, NoTransmit  string
	ShowsEdition             string
	OfSystem                 string // between talkgroup and system
	ModeWords                [3]string
	WidthWords               [2]string
	TonesBelow, FiguresBelow string // heads of columns that have no room for all
	SiteTone                 string // in place of a tone that the site decides
	TabTones, TabFrequency   string // on the thumb marks
	TabName                  string
	North, South, East, West string
	Meters                   string      // %n%
	Legend                   [][2]string // what is printed, and what it means
	LegendDirectNote         string
	LegendRepeatedNote       string
	BookCautions             []string
	SpreadNote               [2]string // below the spreads of a booklet
	PilesNote                string    // where a sheet of paper holds several spreads
}

// EnglishBook are the English words of the book.
var EnglishBook = BookWords{
	SheetWords:   EnglishSheet,
	ExerciseNote: "invented data: do not program",

	Title:       "Channels of the load",
	EditionHead: "Edition",
	Valid:       "valid %from% to %to%",
	Current:     "Is this radio current?", Turn: "Turn to %names% – the name on the display shows the edition.", Label: "The label on the radio is %color%, like this cover.",
	Holds:    "%groups%, %channels%",
	OneGroup: "1 group", ManyGroups: "%n% groups", OneChannel: "1 channel", ManyChannels: "%n% channels",
	Contents: "Groups", PageHead: "page",
	TonesAndSites: "Tones and sites", Tones: "Numbered tones", Sites: "Repeater sites",
	ByFrequency: "Index by receive frequency", ByName: "Index by name",
	Frequencies: "Frequencies", Names: "Names",
	Talkgroups: "Talkgroups have no frequency",
	Notes:      "Notes", HowToRead: "How to read this book",
	NoChannels:  "no channels",
	ReceiveOnly: "RECEIVE ONLY", NoTransmit: "none",
	ShowsEdition: "name shows the edition",
	TonesBelow:   "below: tones RX/TX", FiguresBelow: "transmit, tones below",
	OfSystem:  "of",
	ModeWords: [3]string{"analog", "digital", "mixed"}, WidthWords: [2]string{"narrow", "wide"},
	SiteTone: "site",
	TabTones: "T", TabFrequency: "F", TabName: "N",
	North: "N", South: "S", East: "E", West: "W", Meters: "%n% m",
	Legend: [][2]string{
		{"1-04", "group and channel number."},
		{"103.5/146.2", "receive tone, then transmit tone, in hertz. D023 is a DCS code, N293 the access code of a digital channel, - none."},
		{"site", "the site decides the transmit tone: the incident says which; tones of sites stand below the channel."},
		{"tone 4", "the agency's number of a transmit tone."},
		{"digital, wide", "said where a channel is not analog and narrow. Frequencies are in MHz."},
	},
	LegendDirectNote:   "direct: no repeater, receive and transmit are the same.",
	LegendRepeatedNote: "through a repeater. Key it: a burst answers; silence means wrong tone or out of reach.",
	BookCautions: []string{
		"The approved communications plan of the incident and the communications unit leader decide; this book only lists what the radios hold.",
		"Transmit only on channels for which you are licensed or authorized at this incident; local codes, agency policy and licensed radio practice come first.",
		"Confirm by a radio check before you engage.",
	},
	SpreadNote: [2]string{
		"50 mm: print at actual size, both sides, flip on the long edge",
		"Keep the order, cover outside. Cut at the marks, fold at the broken ones, staple in the fold.",
	},
	PilesNote: "Cut into piles; lay them under each other, first the top left one, row by row.",
}

// Calendar is a day with its year, such as 1 Mar 2027.
func (w *BookWords) Calendar(d plan.Date) string {
	return fmt.Sprintf("%d %s %d", d.Day, w.Months[d.Month-1], d.Year)
}

// Counted is a number of things in words: one where n is 1, else many with %n%.
func Counted(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return Filled(many, "n", fmt.Sprint(n))
}
