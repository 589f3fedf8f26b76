// Package plan turns a load and an incident plan into what people carry:
// ordered slot lists and one card for each seat. Start with [Read], then
// [Resolve]; the checks of a communications unit leader are in plan/rules.
//
// Nothing here lays anything out. Of paper a plan holds what its file says (the
// names in [CardOptions], the millimeters of [Stock]), and of typefaces reading
// asks one thing: whether they have a character ([Options.Prints]).
package plan

import (
	"time"

	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Plan is an incident plan as written: the file plan.toml.
type Plan struct {
	tomlfile.Table `toml:"-"`

	Load      string      `toml:"load,required" doc:"path of the load, relative to this file"`
	Base      string      `toml:"base" doc:"path of a station file, relative to this file: units, positions, also, card, stock and accept come from there, unless the plan has its own"`
	Incident  Incident    `toml:"incident,required" doc:"the incident and its operational period"`
	Slots     []*Slot     `toml:"slot,required" doc:"the incident's list, in order"`
	Divisions []*Division `toml:"division" doc:"divisions in order around the fire, and functional groups"`
	Positions []*Position `toml:"position" doc:"kinds of seat, and what each listens to"`
	Units     []*Unit     `toml:"unit" doc:"units, and who sits in them"`
	Also      []*Also     `toml:"also" doc:"channels on the card that are not in the list"`
	Accepts   []*Accept   `toml:"accept" doc:"exceptions that somebody answers for"`
	Card      CardOptions `toml:"card" doc:"how to print; flags win"`
	Stock     Stock       `toml:"stock" doc:"pre-perforated paper, by its measures"`

	Path    string   `toml:"-"` // of the file
	Station *Station `toml:"-"` // read from Base; nil: none
}

// Station is what a station's plans have in common: the file that a plan names
// as its base. What a plan has itself is taken from the plan alone, table by
// table: a plan with a [[unit]] has none of the station's units.
type Station struct {
	tomlfile.Table `toml:"-"`

	Positions []*Position `toml:"position" doc:"kinds of seat, and what each listens to"`
	Units     []*Unit     `toml:"unit" doc:"units, and who sits in them"`
	Also      []*Also     `toml:"also" doc:"channels on the card that are not in the list"`
	Accepts   []*Accept   `toml:"accept" doc:"exceptions that somebody answers for in every plan of the station"`
	Card      CardOptions `toml:"card" doc:"how to print; flags win"`
	Stock     Stock       `toml:"stock" doc:"pre-perforated paper, by its measures"`

	Path string `toml:"-"` // of the file
}

// Incident is the incident and the operational period that a plan is for.
type Incident struct {
	tomlfile.Table `toml:"-"`

	Name         string    `toml:"name,required" doc:"name of the incident"`
	Number       string    `toml:"number" doc:"number of the incident"`
	Exercise     bool      `toml:"exercise" doc:"exercise or demonstration: prints its mark everywhere"`
	Period       int       `toml:"period,required" doc:"number of the operational period"`
	Revision     int       `toml:"revision" doc:"from 2: a change of the plan within the period; absent: the first issue"`
	RevisedAt    time.Time `toml:"revised_at" doc:"when it was revised, within the period, with UTC offset; needed with revision"`
	From         time.Time `toml:"from,required" doc:"start of the period, with UTC offset"`
	To           time.Time `toml:"to,required" doc:"end of the period, with UTC offset"`
	PreparedBy   string    `toml:"prepared_by,required" doc:"who prepared the plan"`
	PreparedAt   time.Time `toml:"prepared_at,required" doc:"when it was prepared, with UTC offset"`
	Aircraft     bool      `toml:"aircraft" doc:"aircraft work the fire"`
	Latitude     *float64  `toml:"latitude" doc:"decimal degrees, WGS 84, north positive"`
	Longitude    *float64  `toml:"longitude" doc:"decimal degrees, WGS 84, east positive"`
	Elevation    *float64  `toml:"elevation_m" doc:"elevation in meters above sea level"`
	ElevationFt  *float64  `toml:"elevation_ft" doc:"elevation in feet above sea level, in place of elevation_m"`
	Contact      string    `toml:"contact" doc:"how to reach the communications unit, such as a phone number"`
	Instructions string    `toml:"instructions" doc:"special instructions, printed on the wall sheet; {QB MED}, {medical}, {command}, {own} and {A} become the slot of each list"`
}

// FirstRevision is the least number of a revision: what a period begins with has
// none.
const FirstRevision = 2

// Pick names a channel of the load: by display name, by group and number, or
// by frequency, with tones as far as they are needed to be unique.
type Pick struct {
	Channel string         `toml:"channel" doc:"display name"`
	Group   *int           `toml:"group" doc:"group of the load, with number"`
	Number  *int           `toml:"number" doc:"channel number in the group"`
	Rx      radio.Hertz    `toml:"rx" doc:"receive frequency in MHz"`
	Tx      radio.Hertz    `toml:"tx" doc:"transmit frequency in MHz"`
	RxTone  *radio.Squelch `toml:"rx_tone" doc:"receive squelch"`
	TxTone  *radio.Squelch `toml:"tx_tone" doc:"transmit squelch"`
}

// Slot is one position of the incident's list, as written.
type Slot struct {
	tomlfile.Table `toml:"-"`
	Pick

	Use       radio.Use `toml:"use" doc:"what the slot is for; default: the channel's own use"`
	Site      string    `toml:"site" doc:"repeater site, for a channel with tx_tone = \"site\""`
	Tone      *int      `toml:"tone" doc:"numbered tone, in place of site"`
	Division  Names     `toml:"division" doc:"division that uses it, or a list of ids"`
	CarriedBy Names     `toml:"carried_by" doc:"only these divisions have the slot in their list; absent: everybody"`
}

// Division is a stretch of line, or a functional group.
type Division struct {
	tomlfile.Table `toml:"-"`

	ID         string `toml:"id,required" doc:"letter or short name"`
	Name       string `toml:"name" doc:"what it is, such as Left flank"`
	Supervisor string `toml:"supervisor" doc:"who supervises it"`
	Functional bool   `toml:"functional" doc:"a functional group: no neighbors but those in beside"`
	Beside     Names  `toml:"beside" doc:"divisions that a functional group stands beside"`
}

// Title is what the division is called in full: "division A", or "functional
// group SP", so that it is not taken for a group of the load.
func (d *Division) Title() string {
	if d.Functional {
		return "functional group " + d.ID
	}
	return "division " + d.ID
}

// Position is a kind of seat, and what it listens to.
type Position struct {
	tomlfile.Table `toml:"-"`

	Name     string `toml:"name,required" doc:"name of the position"`
	Priority string `toml:"priority" doc:"a selector: the slot that has priority"`
	Scan     Names  `toml:"scan" doc:"selectors: the slots that are scanned as well: own, neighbors, all, a use, or a display name"`
}

// Unit is an engine, a crew or an overhead position with its seats.
type Unit struct {
	tomlfile.Table `toml:"-"`

	Name     string `toml:"name,required" doc:"name of the unit"`
	Kind     string `toml:"kind" doc:"kind and type, such as engine type 3"`
	Team     string `toml:"team" doc:"strike team or task force"`
	Division string `toml:"division" doc:"id of the division it works in; absent: none"`
	Seats    Seats  `toml:"seats,required" doc:"how many cards for each position"`
}

// Seats is how many seats of each position a unit has, in the order written.
type Seats []Seat

// Seat is a position of a unit and how many carry a card for it.
type Seat struct {
	Position string
	Count    int
}

// Also is a channel on the card that is not in the list: the way there, the
// dispatcher, a talkgroup.
type Also struct {
	tomlfile.Table `toml:"-"`
	Pick

	Site string `toml:"site" doc:"repeater site, for a channel with tx_tone = \"site\""`
	Tone *int   `toml:"tone" doc:"numbered tone, in place of site"`
	When string `toml:"when,required" doc:"when to use it, such as on the road"`
}

// Accept is an exception to a rule that somebody answers for: in a plan, in the
// station file that is its base, or in the load for every plan on it.
type Accept struct {
	tomlfile.Table `toml:"-"`

	Rule    string `toml:"rule,required" doc:"identifier of the rule"`
	Subject string `toml:"subject,required" doc:"what is excepted: the subject the finding names, with the value it has now, as help shows it"`
	Because string `toml:"because,required" doc:"the reason"`
	By      string `toml:"by,required" doc:"who answers for it"`
}

// CardOptions say how to print.
type CardOptions struct {
	tomlfile.Table `toml:"-"`

	Size      string  `toml:"size" doc:"size of the card by name, or width x height in mm, such as 90x55"`
	Paper     string  `toml:"paper" doc:"paper in the printer"`
	Sides     string  `toml:"sides" doc:"how front and back come onto paper: long, short, fold, front or each"`
	Order     string  `toml:"order" doc:"order of cards on the sheets: sheet or stack"`
	Language  string  `toml:"language" doc:"language of the fixed words: en, es or fr"`
	Edge      float64 `toml:"edge" doc:"how near the edge of the paper the printer prints, mm; default 6.35"`
	Roll      string  `toml:"roll" doc:"for a label printer: width of an endless roll, or width x height of its labels, in mm or with in: 62, 102x152, 4x6in"`
	Gap       float64 `toml:"gap" doc:"white between cards of an endless roll, mm; default 0"`
	DPI       int     `toml:"dpi" doc:"dots an inch of the printer of the roll, such as 203 or 300"`
	ScanLimit *int    `toml:"scan_limit" doc:"most slots that a seat should scan besides its priority; default 3"`
}

// Stock is pre-perforated paper, by its measures in millimeters. Without
// columns there is none.
type Stock struct {
	tomlfile.Table `toml:"-"`

	Width   float64 `toml:"width,required" doc:"width of a card in mm"`
	Height  float64 `toml:"height,required" doc:"height of a card in mm"`
	Columns int     `toml:"columns,required" doc:"cards side by side"`
	Rows    int     `toml:"rows,required" doc:"cards one below the other"`
	Left    float64 `toml:"left,required" doc:"from the left edge of the paper to the first card, mm"`
	Top     float64 `toml:"top,required" doc:"from the upper edge of the paper to the first card, mm"`
	GutterX float64 `toml:"gutter_x" doc:"between columns, mm; default 0"`
	GutterY float64 `toml:"gutter_y" doc:"between rows, mm; default 0"`
}

// DefaultScanLimit is the most slots that a seat should scan besides its
// priority slot, unless the plan sets its own. Our choice: scanning too much is
// as bad as too little (common practice names no number).
const DefaultScanLimit = 3
