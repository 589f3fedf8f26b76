package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Options say what the sheet does not: what is set wins over the sheet.
type Options struct {
	LoadPath string // of the load, as the plan is to name it; with slashes
	Source   string // name of the sheet's file, for a comment

	Name, Number         string // of the incident
	Period               int
	From, To, PreparedAt string // dates and times, as on a sheet
	PreparedBy           string
	Offset               string // from UTC, such as -06:00, of times without one
	Exercise, Aircraft   *bool

	Local      *time.Location // of the computer: proposed for times without an offset, to be confirmed; nil: none
	Keep       *plan.Plan     // of an earlier period, as its file has it: what does not stand on a sheet comes from there
	KeepSource string         // name of its file, for a comment
	Base       string         // path of its station file, as the new plan is to name it; "": none
	Roster     *Roster        // units, in place of those of Keep
}

// Draft is a plan drafted from a sheet: always readable, but not decided where
// Open says so.
type Draft struct {
	TOML    []byte
	Slots   int
	Open    []Open    // in order of the draft
	NotRead []NotRead // cells of the sheet of which nothing was made, in its order
	Taken   []string  // what columns were taken for where their titles do not say it
	Others  []string  // sheets of the workbook of which nothing was read
	Word    string    // what the sheet's lines are called: "line" or "row"
	Rows    []Looked  // each slot beside its line of the sheet, in order of the draft
}

// Looked is a slot of a draft beside the line of the sheet that it came from.
type Looked struct {
	Line   int // of the sheet
	Cells  []LookedCell
	Notes  []string
	Decide []Question
}

// LookedCell is a cell of the sheet, and whether it became part of the plan.
type LookedCell struct {
	Cell
	Read bool
}

// Question is what a person must decide about a slot, with what there is to choose from.
type Question struct {
	What    string
	Choices []Choice
}

// Choice is one way to decide: in words, and, where it is one, as the channel to take.
type Choice struct {
	Says     string
	Channel  *plan.Channel // nil: it says what to do in the file
	Site     string        // the repeater, too; "": it is not chosen
	Division bool          // about who uses the slot, not which channel it is
}

// TooLarge is why the checks would not read all of a draft, which then is not
// worth writing; nil where they do. It completes the sentence that begins with the
// name of the sheet.
func (d *Draft) TooLarge() error {
	if len(d.TOML) > tomlfile.MaxSize {
		return fmt.Errorf("makes a plan of more than %d kB, which slotcard check does not read; leave out what is no channel", tomlfile.MaxSize>>10)
	}
	if _, _, found, err := plan.Read("plan.toml", plan.Options{ReadFile: func(string) ([]byte, error) { return d.TOML, nil }}); err == nil {
		for _, f := range found {
			if f.Rule == tomlfile.RuleOutOfRange && strings.HasPrefix(f.Message, "more than") {
				return fmt.Errorf("makes a plan that slotcard check does not read to its end (%s); leave out what is no channel", f.Message)
			}
		}
	}
	return nil
}

// NotRead is a cell of which nothing was made, or not of all of it.
type NotRead struct {
	Cell
	Where string // "slot 3"; "" outside of the slots
}

// Open is something that a person must decide, written so that the checks point
// at it as well.
type Open struct {
	Line  int    // of the draft, from 1
	Row   int    // line of the sheet; 0: not about a line
	Where string // such as "slot 3", or a key of the incident
	What  string // one line, lower case, no full stop
}

// drafter writes a draft.
type drafter struct {
	*finder
	sheet *Sheet
	o     Options
	tomlfile.Writer
	open []Open

	used    map[*Head][]bool // which values of a head have become part of the draft
	notRead []NotRead

	divisions []*division // in order
	confirm   string      // the key at which the computer's offset is to be confirmed
}

// division is one that the sheet names.
type division struct {
	id, name, supervisor string
	functional           bool
	beside               string
	listed               bool   // in a line of its own above the table
	from                 string // the words that the id was made from, where it was
	old                  bool   // of the old plan
	seen                 bool   // the sheet names it
}

// Draft looks every row up in the load and writes a plan. It is the same each
// time.
func (s *Sheet) Draft(o Options) *Draft {
	d := &drafter{finder: s.find, sheet: s, o: o, used: map[*Head][]bool{}}
	d.seedDivisions()
	d.listDivisions()
	slots := make([]*slot, len(s.Rows))
	for i, r := range s.Rows {
		slots[i] = d.slot(r)
	}
	slots = ordered(slots)

	source := "a communications plan sheet"
	if o.Source != "" {
		source = o.Source
	}
	if s.Name != "" {
		source += ", sheet " + s.Name
	}
	d.Comment("Drafted by \"slotcard draft\" from %s. Compare it with the sheet", source)
	d.Comment("line by line. Where it says DECIDE, a person must; slotcard check points there too.")
	if o.Keep != nil {
		d.Comment("Units, positions, supervisors, card, coordinates and instructions are those of %s.", either(o.KeepSource, "the old plan"))
	}
	d.Line("")
	d.Line("load = %s", tomlfile.Quote(o.LoadPath))
	if o.Base != "" {
		d.Line("base = %s", tomlfile.Quote(o.Base))
	}
	d.Line("")
	for _, taken := range s.Taken {
		d.Comment("%s", taken)
	}
	if len(s.Taken) > 0 {
		d.Line("")
	}
	d.incident(slots)
	d.around()
	d.Line("")
	d.Comment("The incident's list, in order: command first, guard last.")
	for i, sl := range slots {
		d.write(i, sl)
	}
	d.writeDivisions()
	if o.Keep == nil || len(o.Keep.Also) == 0 {
		d.alsos()
	}
	d.seats()
	slices.SortStableFunc(d.notRead, func(a, b NotRead) int { return cmp.Or(a.Line-b.Line, a.Column-b.Column) })
	return &Draft{TOML: d.Text(), Slots: len(slots), Open: d.open, NotRead: d.notRead, Taken: s.Taken, Others: s.Others, Word: s.word, Rows: looked(slots)}
}

// looked sets each slot beside its line.
func looked(slots []*slot) []Looked {
	rows := make([]Looked, 0, len(slots))
	for _, s := range slots {
		l := Looked{Line: s.row.Line, Notes: s.notes}
		for _, c := range s.row.Cells {
			l.Cells = append(l.Cells, LookedCell{c, !slices.Contains(s.notRead, c)})
		}
		for _, q := range s.open {
			l.Decide = append(l.Decide, Question{q.what, q.choices})
		}
		rows = append(rows, l)
	}
	return rows
}

// Place says where a cell stands, in lines or rows.
func (c Cell) Place(word string) string {
	if c.Column == 0 {
		return fmt.Sprintf("%s %d", word, c.Line)
	}
	return fmt.Sprintf("%s %d, column %s", word, c.Line, c.Letter())
}

// around shows what stands around the table and was not read.
func (d *drafter) around() {
	var all []Cell
	all = append(all, d.sheet.NotRead...)
	for i := range d.sheet.Heads {
		h := &d.sheet.Heads[i]
		if h.Is == NotInList && (d.o.Keep == nil || len(d.o.Keep.Also) == 0) { // see alsos
			continue
		}
		for k, c := range h.cells {
			if used := d.used[h]; k < len(used) && used[k] || d.said(h, k) {
				continue
			}
			c.Text = h.Values[k]
			all = append(all, c)
		}
	}
	if len(all)+len(d.sheet.Others) == 0 {
		return
	}
	slices.SortStableFunc(all, func(a, b Cell) int { return cmp.Or(a.Line-b.Line, a.Column-b.Column) })
	d.Line("")
	d.Comment("Around the table, not read:")
	for _, c := range all {
		d.Comment("  %s: %s", c.Place(d.sheet.word), c.Text)
		d.notRead = append(d.notRead, NotRead{Cell: c})
	}
	for _, other := range d.sheet.Others {
		d.Comment("  %s", other)
	}
}

// said tells whether a value repeats one that was used: the heads of a further
// page.
func (d *drafter) said(h *Head, k int) bool {
	for i := range d.sheet.Heads {
		o := &d.sheet.Heads[i]
		if o.Is != h.Is || o == h {
			continue
		}
		for n, used := range d.used[o] {
			if used && o.Values[n] == h.Values[k] {
				return true
			}
		}
	}
	return false
}

const seatsExample = `
[[position]]
name     = "Engine boss"
priority = "own"
scan     = ["neighbors", "command"]

[[unit]]
name     = "Engine 1"
division = "A"
seats    = { "Engine boss" = 1 }
`

// undecided notes that something on the next line, or on the one lines further,
// is for a person to decide.
func (d *drafter) undecided(row int, where, what string) {
	d.open = append(d.open, Open{Line: d.Next(), Row: row, Where: where, What: what})
}

// head is the first head of a kind that has a value; nil where there is none.
func (d *drafter) head(is Title) *Head {
	for i := range d.sheet.Heads {
		if h := &d.sheet.Heads[i]; h.Is == is && len(h.Values) > 0 {
			return h
		}
	}
	return nil
}

// use notes that the k-th value of a head is part of the draft.
func (d *drafter) use(h *Head, k int) {
	if d.used[h] == nil {
		d.used[h] = make([]bool, len(h.Values))
	}
	d.used[h][k] = true
}

// joined are the values of heads of these kinds, from the first of each.
func (d *drafter) joined(kinds ...Title) (text string, heads []*Head) {
	var parts []string
	for _, is := range kinds {
		if h := d.head(is); h != nil {
			heads = append(heads, h)
			parts = append(parts, h.Values...)
		}
	}
	return strings.Join(parts, " "), heads
}

func (d *drafter) useAll(heads []*Head) {
	for _, h := range heads {
		for k := range h.Values {
			d.use(h, k)
		}
	}
}

// numbered finds the number of a period in words such as "2" or "period 2".
var numbered = compiled(`(?i)^(?:(?:operational )?period|op|no\.?|#)? *#?(\d{1,3})(?:\s*[,;:–—]\s*(.*)|\s+((?:from|date|\(|\d{1,2}/\d{1,2}/|\d{4}-).*))?$`)

func (d *drafter) incident(slots []*slot) {
	d.Line("[incident]")
	var old plan.Incident
	if d.o.Keep != nil {
		old = d.o.Keep.Incident
	}
	d.text("name", d.o.Name, old.Name, d.head(IncidentName), `"..."`)
	d.text("number", d.o.Number, old.Number, d.head(IncidentNumber), "")
	exercise := ""
	if old.Exercise {
		exercise = "as in the old plan"
	}
	d.yes("exercise", d.o.Exercise, Exercise, exercise)
	span := d.period()
	for i, key := range []string{"from", "to"} {
		flag := []string{d.o.From, d.o.To}[i]
		switch {
		case flag != "":
			d.given(key, flag, span.text)
		case len(span.found) == 2 && sameDayForward(span.found):
			d.moment(key, "", &span.found[i])
		default:
			d.missingMoment(key, span.text)
		}
	}
	d.preparedBy()
	d.preparedAt()
	overhead := slices.ContainsFunc(slots, func(s *slot) bool { return s.use == radio.AirToGround })
	why := ""
	if overhead {
		why = "the list has an air-to-ground channel"
	}
	d.yes("aircraft", d.o.Aircraft, Aircraft, why)
	d.keepIncident()
	h := d.head(Instructions)
	switch {
	case old.Instructions != "":
		d.Comment("instructions as in the old plan; those of the sheet, where it has any, stand below as not read")
		d.Line("%s = %s", "instructions", tomlfile.Quote(old.Instructions))
		if h != nil && clean(strings.Join(h.Values, " ")) == clean(old.Instructions) {
			d.useAll([]*Head{h})
		}
	case h != nil:
		d.Line("%s = %s", "instructions", tomlfile.Quote(strings.Join(h.Values, " ")))
		d.useAll([]*Head{h})
	}
}

// text writes a text of the incident: from its flag, else the first value of a
// head, else the old plan.
func (d *drafter) text(key, flag, old string, h *Head, need string) {
	value, beside := flag, ""
	switch {
	case h == nil && flag == "" && old != "":
		value, beside = old, "   # as in the old plan"
	case h == nil:
	case value == "":
		value = h.Values[0]
		d.use(h, 0)
	default:
		d.use(h, 0)
		beside = d.instead(value, h.Values[0])
	}
	switch {
	case value != "":
		d.Line("%-11s = %s%s", key, tomlfile.Quote(value), beside)
	case need != "":
		d.missing(key, need)
	}
}

// instead says beside a value that was given what the sheet has, where that
// differs.
func (d *drafter) instead(value, sheet string) string {
	if value == sheet {
		return ""
	}
	return "   # as given; the sheet says: " + tomlfile.OneLine(sheet)
}

// span is when the period is: what was found, and the words that it was found in.
type span struct {
	found []moment
	text  string
}

// period writes the number of the period, and finds from when to when it is.
func (d *drafter) period() (s span) {
	number, beside := d.o.Period, ""
	var said []string
	h := d.head(Period)
	if h != nil {
		said = slices.Clone(h.Values)
		if m := numbered().FindStringSubmatch(said[0]); m != nil {
			sheets, _ := strconv.Atoi(m[1])
			if number == 0 {
				number = sheets
			} else if sheets != number {
				beside = d.instead("", m[1])
			}
			if said[0] = m[2] + m[3]; said[0] == "" {
				d.use(h, 0)
			}
		}
	}
	if number > 0 {
		d.Line("%-11s = %d%s", "period", number, beside)
	} else {
		d.missing("period", "1")
	}
	// Block 3 has a field for each date and time.
	from, fromHeads := d.joined(DateFrom, TimeFrom)
	to, toHeads := d.joined(DateTo, TimeTo)
	if d.o.From != "" && d.o.To != "" {
		d.useAll(append(fromHeads, toHeads...))
		if h != nil {
			d.useAll([]*Head{h})
		}
		return span{text: strings.TrimSpace(strings.Join(said, " ") + " " + from + " " + to)}
	}
	a, restA, okA := momentsOf(from, d.o.Offset)
	b, restB, okB := momentsOf(to, d.o.Offset)
	if okA && okB && len(a) == 1 && len(b) == 1 {
		if restA+restB == "" {
			d.useAll(append(fromHeads, toHeads...))
		}
		return span{[]moment{a[0], b[0]}, ""}
	}
	s.text = strings.TrimSpace(strings.Join(said, " "))
	found, rest, ok := momentsOf(s.text, d.o.Offset)
	if s.text = strings.TrimSpace(s.text + " " + from + " " + to); !ok {
		return s
	}
	if rest == "" {
		for k := range h.Values {
			if k > 0 || said[0] != "" {
				d.use(h, k)
			}
		}
	}
	s.found = found
	return s
}

// preparedBy writes who prepared the plan: behind its title, or behind a name of
// its own, with the position.
func (d *drafter) preparedBy() {
	h := d.head(PreparedBy)
	by := -1
	for i := range d.sheet.Heads {
		if d.sheet.Heads[i].Is == PreparedBy {
			by = d.sheet.Heads[i].Line
			break
		}
	}
	near := func(is Title) *Head {
		for i := range d.sheet.Heads {
			o := &d.sheet.Heads[i]
			if o.Is == is && len(o.Values) > 0 && by >= 0 && o.Line >= by && o.Line <= by+2 {
				return o
			}
		}
		return nil
	}
	who := h
	if who == nil {
		who = near(PersonName)
	}
	position := near(PersonPosition)
	value := d.o.PreparedBy
	if value == "" && who != nil {
		value = who.Values[0]
		d.use(who, 0)
		if position != nil && !strings.Contains(strings.ToLower(value), strings.ToLower(position.Values[0])) {
			value += ", " + position.Values[0]
			d.use(position, 0)
		}
	}
	example := `"name, position"`
	if k := d.o.Keep; k != nil && k.Incident.PreparedBy != "" {
		example = tomlfile.Quote(k.Incident.PreparedBy)
	}
	d.text("prepared_by", value, "", nil, example)
}

// preparedAt writes when the plan was prepared: of several dates the first that
// is complete, else all together, as where date and time have fields of their own.
func (d *drafter) preparedAt() {
	var words []string
	var heads []*Head
	for i := range d.sheet.Heads {
		h := &d.sheet.Heads[i]
		if h.Is != Prepared || len(h.Values) == 0 {
			continue
		}
		text := strings.Join(h.Values, " ")
		if d.o.PreparedAt != "" {
			d.useAll([]*Head{h})
			words = append(words, text)
			continue
		}
		if at, rest, ok := momentsOf(text, d.o.Offset); ok && len(at) == 1 {
			if rest == "" {
				d.useAll([]*Head{h})
			}
			d.moment("prepared_at", "", &at[0])
			return
		}
		words, heads = append(words, text), append(heads, h)
	}
	said := strings.Join(words, " ")
	if d.o.PreparedAt != "" {
		d.given("prepared_at", d.o.PreparedAt, said)
		return
	}
	if at, rest, ok := momentsOf(said, d.o.Offset); ok && len(at) == 1 {
		if rest == "" {
			d.useAll(heads)
		}
		d.moment("prepared_at", "", &at[0])
		return
	}
	d.missingMoment("prepared_at", said)
}

// sameDayForward tells whether a period ends after it begins. A night shift
// with one date for both ends does not say so.
func sameDayForward(span []moment) bool {
	return span[0].date+span[0].clock < span[1].date+span[1].clock
}

// yes writes a key that is true or absent.
func (d *drafter) yes(key string, flag *bool, is Title, because string) {
	h := d.head(is)
	switch {
	case flag != nil:
		d.Line("%-11s = %t", key, *flag)
	case h != nil:
		switch strings.ToLower(h.Values[0]) {
		case "yes", "true", "y", "x":
			d.Line("%-11s = true", key)
			d.use(h, 0)
		case "no", "false", "n":
			d.use(h, 0)
		}
	case because != "":
		d.Line("%-11s = true   # %s", key, because)
	}
}

// missing leaves a required key out, so that the checks say so, with a line to
// complete.
func (d *drafter) missing(key, example string) {
	d.undecided(0, key, key+" was not read on the sheet")
	d.Comment("DECIDE: not read on the sheet; take the # away and complete")
	d.Comment("%-11s = %s", key, example)
}

func (d *drafter) missingMoment(key, said string) {
	if said == "" {
		d.missing(key, "2027-08-14T06:00:00-06:00")
		return
	}
	d.undecided(0, key, key+" cannot be told from the sheet: "+said)
	d.Comment("DECIDE: the sheet says: %s", said)
	d.Comment("%-11s = 2027-08-14T06:00:00-06:00", key)
}

// moment writes a date and time. Without an offset from UTC it is written as it
// is, and the checks ask for it.
func (d *drafter) moment(key, said string, m *moment) {
	if m == nil {
		found, _, ok := momentsOf(said, d.o.Offset)
		if !ok || len(found) != 1 {
			d.missingMoment(key, said)
			return
		}
		m = &found[0]
	}
	if m.complete() {
		d.Line("%-11s = %s", key, m)
		return
	}
	d.withoutOffset(key, *m)
}

// withoutOffset writes a date and time of which no UTC offset was read: with that
// of the old plan, or with that of this computer, which is to be confirmed at the
// first of them.
func (d *drafter) withoutOffset(key string, m moment) {
	if k := d.o.Keep; k != nil && !k.Incident.From.IsZero() {
		m.offset = k.Incident.From.Format("-07:00")
		d.Line("%-11s = %s   # UTC offset as in the old plan", key, m)
		return
	}
	offset, words := d.local(m)
	switch {
	case offset == "":
		d.undecided(0, key, key+" has no UTC offset")
		d.Line("%-11s = %s   # DECIDE: put the UTC offset behind it, such as -06:00", key, m)
	case d.confirm == "":
		d.confirm = key
		d.undecided(0, key, "no UTC offset was read; this computer's is "+words)
		d.Line("%-11s = %s   # DECIDE: this computer's zone is %s; where the incident's is the same, put %s behind it", key, m, words, offset)
	default:
		m.offset = offset
		d.Line("%-11s = %s   # offset of %s, from this computer: right only if %s gets the same zone", key, m, words, d.confirm)
	}
}

// zoneNames are the zones of the United States in words, by their letters.
var zoneNames = map[string]string{"EST": "Eastern standard", "EDT": "Eastern daylight", "CST": "Central standard", "CDT": "Central daylight",
	"MST": "Mountain standard", "MDT": "Mountain daylight", "PST": "Pacific standard", "PDT": "Pacific daylight", "AKST": "Alaska standard",
	"AKDT": "Alaska daylight", "HST": "Hawaii standard"}

// local is this computer's UTC offset at a moment, and its zone in words, such as
// "Mountain daylight, UTC-06:00"; "" where it is not known.
func (d *drafter) local(m moment) (offset, words string) {
	if d.o.Local == nil {
		return "", ""
	}
	t, err := time.ParseInLocation("2006-01-02T15:04:05", m.date+"T"+m.clock, d.o.Local)
	if err != nil {
		return "", ""
	}
	offset = t.Format("-07:00")
	letters, _ := t.Zone()
	words = "UTC" + offset
	// The letters are those of a zone here only where its offset is theirs.
	if name := zoneNames[letters]; name != "" && zoneOffsets[letters] == offset {
		words = name + ", " + words
	}
	return offset, words
}

// given writes a date and time that was given in place of the sheet's.
func (d *drafter) given(key, value, sheet string) {
	if sheet != "" {
		d.Comment("%s as given; the sheet says: %s", key, sheet)
	}
	d.moment(key, value, nil)
}

// ValidMoment tells whether a date and time can be understood, such as
// 08/14/2027 06:00 or 2027-08-14T06:00-06:00.
func ValidMoment(s string) bool {
	found, _, ok := momentsOf(s, "")
	return ok && len(found) == 1
}

// ParseOffset is a UTC offset such as -6, -06:00 or Z as TOML writes it; ok is
// false where it is none.
func ParseOffset(s string) (offset string, ok bool) {
	if offset = offsetOf(s); offset == "" {
		return "", false
	}
	_, err := time.Parse("Z07:00", offset)
	return offset, err == nil
}

// write writes a slot, and what is to be said about it.
func (d *drafter) write(i int, s *slot) {
	d.Line("")
	d.Comment("%s %d of the sheet%s", d.sheet.word, s.row.Line, said(s.row))
	for _, n := range s.notes {
		d.Comment("%s", n)
	}
	for _, c := range s.notRead {
		d.Comment("not read: %s: %s", c.of(), c.Text)
		d.notRead = append(d.notRead, NotRead{Cell: c, Where: fmt.Sprintf("slot %d", i+1)})
	}
	for _, q := range s.open {
		d.Comment("DECIDE: %s", q.what)
		for _, c := range q.choices {
			d.Comment("  %s", c.Says)
		}
	}
	for _, q := range s.open {
		d.open = append(d.open, Open{Line: d.Next(), Row: s.row.Line, Where: fmt.Sprintf("slot %d", i+1), What: q.what})
	}
	d.Line("[[slot]]")
	width := 0
	for _, k := range s.keys {
		width = max(width, len(k.key))
	}
	for _, k := range s.keys {
		d.Line("%-*s = %s", width, k.key, k.value)
	}
}

// said is all that a row says, for a look.
func said(r Row) string {
	parts := make([]string, 0, len(r.Cells))
	for _, c := range r.Cells {
		parts = append(parts, c.Text)
	}
	return ": " + strings.Join(parts, " | ")
}

// ordered moves command first and guard last, where they are not, and leaves
// all else as the sheet has it.
func ordered(slots []*slot) []*slot {
	var guards, rest []*slot
	for i, s := range slots {
		if s.use == radio.Guard {
			if slices.ContainsFunc(slots[i:], func(t *slot) bool { return t.use != radio.Guard }) {
				s.notes = append(s.notes, "moved to the end: guard stands last")
			}
			guards = append(guards, s)
		} else {
			rest = append(rest, s)
		}
	}
	if i := slices.IndexFunc(rest, func(s *slot) bool { return s.use == radio.Command }); i > 0 {
		command := rest[i]
		command.notes = append(command.notes, "moved to the top: command stands first")
		rest = slices.Concat([]*slot{command}, rest[:i], rest[i+1:])
	}
	return append(rest, guards...)
}

// alsos writes the channels that are beside the list.
func (d *drafter) alsos() {
	for i := range d.sheet.Heads {
		h := &d.sheet.Heads[i]
		if h.Is != NotInList || len(h.Values) == 0 {
			continue
		}
		d.Line("")
		d.Comment("%s %d of the sheet: not in the list: %s", d.sheet.word, h.Line, strings.Join(h.Values, " | "))
		when := "..."
		if len(h.Values) > 1 {
			when = h.Values[1]
		} else {
			d.undecided(h.Line, h.Values[0], "nothing was read of when to use it")
			when = ""
		}
		d.Line("[[also]]")
		d.Line("channel = %s", tomlfile.Quote(h.Values[0]))
		if len(h.Values) > 2 {
			if site, ok := strings.CutPrefix(h.Values[2], "repeated by "); ok {
				d.Line("site    = %s", tomlfile.Quote(site))
			} else if n, ok := strings.CutPrefix(h.Values[2], "tone "); ok {
				if _, err := strconv.Atoi(n); err == nil {
					d.Line("tone    = %s", n)
				}
			}
		}
		d.Line("when    = %s", tomlfile.Quote(when))
	}
}
