// Package channellist makes a load of an agency's channel list, as sheets hold
// it: any titles, any order of columns, one sheet or one per group. Start with
// [Read]; [List.TOML] writes the load, [List.Since] and [List.Against] compare it.
//
// Titles help and contents decide what a column is. Every cell that holds
// something is used or stands in [List.NotRead]; what a person must decide is
// written so that the checks object to just that place.
package channellist

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/radio"
)

// Role is what a file was said to hold.
type Role uint8

const (
	Anything  Role = iota // channels, and perhaps sites and tones on further sheets
	SiteTable             // named by --sites
	ToneTable             // named by --tones
)

// Source is a file that was read into cells.
type Source struct {
	Name string // base name, for messages and the comment on top
	Sum  string // SHA-256 of its bytes, in hex
	Book *cells.Book
	Role Role
}

// Options say what a person has said about the sheets.
type Options struct {
	Map   []Mapping    // columns whose meaning was given; they win
	Tones []*plan.Tone // numbered tones, where the sheets have no table of them
}

// Mapping is a column, by its title or its letter, and the field it holds.
type Mapping struct {
	Column string
	Field  Field
	At     Place // of the table, as [Table] has it; zero: of all tables with such a column
}

// of tells whether a mapping is about a table.
func (m Mapping) of(t *table) bool { return m.At == (Place{}) || m.At == t.place(t.first(), -1) }

// By is how the use of a channel was found.
type By uint8

const (
	ByNothing By = iota // a person decides
	ByColumn            // a column says it
	ByName              // its display name
	ByRemark            // a remark, a heading, or the name of its group
	ByLast              // last year's load
)

func (b By) String() string {
	return [...]string{"to decide", "by column", "by name", "by remark", "as last year"}[b]
}

// Channel is a row of a list, as a channel of the load.
type Channel struct {
	At                          Place
	Number                      int
	Name                        string
	Use                         radio.Use
	UseBy                       By
	Rx, Tx                      radio.Hertz // equal where nobody repeats it
	RxTone, TxTone              radio.Squelch
	Mode                        radio.Mode
	Width                       radio.Width
	ReceiveOnly                 bool
	Edition                     bool // the display name carries the edition
	Remarks, System, Talkgroup  string
	Open                        []Open
	section                     string
	sites                       []string
	siteText                    string
	hints                       []string // more text that may tell the use
	txBlank, rxOnlySaid, txSame bool
	modeSaid, widthSaid         bool
}

// Open is a key that a person must decide, and what there is to know.
type Open struct {
	Key string // of the load: use, rx, tx_tone
	Why string // such as "the sheet says WORK"
}

// Group is a group of the load.
type Group struct {
	Number   int // 0: a person decides
	Name     string
	From     string // where the name comes from, such as "heading in row 4"
	Channels []*Channel
}

// Site is a repeater site.
type Site struct {
	At                  Place
	Name                string
	Tone                radio.Squelch
	ToneNumber          int
	Latitude, Longitude *float64
	Elevation           *float64 // meters
	Channels            []string
	Open                []Open
	carried             []string // as the sheets write it
}

// Tone is a numbered tone.
type Tone struct {
	At     Place
	Number int
	Value  radio.Squelch
}

// Place is where something stands in the sheets.
type Place struct {
	File   string
	Sheet  string
	Row    int // from 1
	Column int // from 0; -1: the row as a whole
}

func (p Place) String() string {
	s := fmt.Sprintf("line %d", p.Row)
	if p.Sheet != "" {
		s = fmt.Sprintf("sheet %s, row %d", p.Sheet, p.Row)
	}
	if p.Column >= 0 {
		s += ", column " + cells.ColumnName(p.Column)
	}
	return s
}

// NotRead is a cell, or cells of one kind, that nothing was made of.
type NotRead struct {
	At   Place
	Text string
	Why  string // "": nobody knows what it is
}

// Column is a column of a table, and what it was taken for.
type Column struct {
	Index  int
	Title  string
	Field  Field
	Filled int      // cells that hold something
	Why    string   // where it is not plain
	First  []string // its first cells below the titles, at most FirstCells
}

// FirstCells is how many cells of a column are kept for the person who checks what it
// was taken for.
const FirstCells = 3

// Table is a table of the sheets, with the meaning of its columns.
type Table struct {
	At      Place // of its first row
	Kind    Kind
	Columns []Column
	Rows    int // that hold a channel, a site or a tone
}

// Kind is what a table holds.
type Kind uint8

const (
	Channels Kind = iota + 1
	Sites
	Tones
)

func (k Kind) String() string { return [...]string{"nothing", "channels", "sites", "tones"}[k] }

// List is what the sheets hold.
type List struct {
	Sources []Source
	Tables  []Table // in the order of the sheets
	Groups  []*Group
	Sites   []*Site
	Tones   []*Tone
	NotRead []NotRead
	Notes   []string // what was taken for granted; one line each

	perSheet map[*cells.Sheet]int // tables of channels
	last     *reading             // the table of channels that was read before

	// What lines around the tables say about the load; "" where they do not.
	Edition, Effective, Expires string
}

// Len is the number of channels.
func (l *List) Len() int {
	n := 0
	for _, g := range l.Groups {
		n += len(g.Channels)
	}
	return n
}

// UsesBy counts how the uses of the channels were found.
func (l *List) UsesBy() map[By]int {
	n := map[By]int{}
	for _, g := range l.Groups {
		for _, c := range g.Channels {
			n[c.UseBy]++
		}
	}
	return n
}

// note says what was taken for granted, once.
func (l *List) note(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	for _, n := range l.Notes {
		if n == s {
			return
		}
	}
	l.Notes = append(l.Notes, s)
}

func (l *List) notRead(at Place, text, why string) {
	l.NotRead = append(l.NotRead, NotRead{at, text, why})
}

var errNoChannels = errors.New("no table of channels was found: it needs display names and receive frequencies, or talkgroups, one channel a row")

// Read finds the tables of the sheets and reads them. It is the same each time.
func Read(sources []Source, o Options) (*List, error) {
	l := &List{Sources: sources}
	var tables []*table
	for i := range sources {
		for _, s := range sources[i].Book.Sheets {
			if s.Hidden { // last year's list, as a rule
				if len(s.Rows) > 0 {
					l.notRead(Place{sources[i].Name, s.Name, s.Rows[0].Number, -1}, plural(len(s.Rows), "row", "rows"), "the sheet is hidden: show it in the spreadsheet if it belongs to the list")
				}
				continue
			}
			tables = append(tables, tablesOf(&sources[i], tightened(s))...)
		}
	}
	tables = l.understand(tables, o)
	if err := unknownColumns(tables, o.Map); err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(tables, func(t *table) bool { return t.kind == Tones }) {
		for _, t := range o.Tones {
			l.Tones = append(l.Tones, &Tone{At: Place{Column: -1}, Number: t.Number, Value: t.Hz})
		}
	}
	l.perSheet = map[*cells.Sheet]int{}
	for _, t := range tables {
		if t.kind == Channels {
			l.perSheet[t.sheet]++
		}
	}
	for _, kind := range []Kind{Tones, Sites, Channels} { // tones have to be known for what follows
		for _, t := range tables {
			if t.kind != kind {
				continue
			}
			switch kind {
			case Tones:
				l.readTones(t)
			case Sites:
				l.readSites(t)
			case Channels:
				l.readChannels(t)
			}
		}
	}
	for _, t := range tables {
		if t.kind == 0 {
			l.around(t)
		}
		l.describe(t)
	}
	if l.Len() == 0 {
		return nil, errNoChannels
	}
	l.settle()
	return l, nil
}

// around reads the lines of a table that holds none of what a load has.
func (l *List) around(t *table) {
	r := reading{t: t}
	rows := slices.Concat(t.above, t.titles, t.rows)
	for _, row := range rows {
		if text := r.joined(row); !l.headLine(text) {
			l.notRead(t.place(row, t.filled(row)[0]), text, "")
		}
	}
}

// describe keeps a table and its columns for the person who checks them.
func (l *List) describe(t *table) {
	if t.kind == 0 {
		return
	}
	d := Table{At: t.place(t.first(), -1), Kind: t.kind, Rows: t.read}
	for _, c := range t.columns {
		if c.Filled > 0 || c.Title != "" && c.Field != NotUsed {
			for _, row := range t.rows {
				if len(c.First) == FirstCells {
					break
				}
				if len(t.filled(row)) > 1 { // a heading is no row
					c.First = append(c.First, t.cell(row, c.Index).Text)
				}
			}
			d.Columns = append(d.Columns, c)
		}
	}
	l.Tables = append(l.Tables, d)
}

// unknownColumns refuses a mapping that fits no column, or one of a table that has no such
// field.
func unknownColumns(tables []*table, given []Mapping) error {
	var titles []string
	for _, m := range given {
		found, other := false, Kind(0)
		for _, t := range tables {
			for _, c := range t.columns {
				if m.of(t) && m.fits(c) {
					found = found || m.Field.in(t.kind)
					other = t.kind
				}
				if c.Title != "" {
					titles = append(titles, fmt.Sprintf("%q", c.Title))
				}
			}
		}
		if !found && other != 0 {
			return fmt.Errorf("column %q is of a table of %s, and there it holds one of: %s", m.Column, other, strings.Join(FieldNames(other), ", "))
		}
		if !found {
			if len(titles) == 0 {
				return fmt.Errorf("there is no column %q; name a column by its letter, such as C=rx", m.Column)
			}
			return fmt.Errorf("there is no column %q; the titles are %s; a column has a letter, too", m.Column, strings.Join(unique(titles), ", "))
		}
	}
	return nil
}

func (m Mapping) fits(c Column) bool {
	return strings.EqualFold(m.Column, c.Title) || m.Column == cells.ColumnName(c.Index) ||
		strings.EqualFold(m.Column, "column "+cells.ColumnName(c.Index))
}

func unique(all []string) []string {
	var kept []string
	seen := map[string]bool{}
	for _, s := range all {
		if !seen[s] {
			seen[s] = true
			kept = append(kept, s)
		}
	}
	return kept
}
