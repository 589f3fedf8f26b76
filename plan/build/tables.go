package build

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Tables is a plan, load or station file whose tables are filled in key by key. Which
// tables and keys there are, and what they mean, is what reading goes by: a key that is
// added there can be set here. Rows are counted from 0, in the order of the file.
type Tables struct {
	name  string
	text  []byte
	of    reflect.Type  // plan.Plan, plan.Load or plan.Station
	value reflect.Value // of that type, as the file itself says it
	file  *tomlfile.File
	found finding.List
}

// Kind is a kind of table of a file: with Key "" the keys at its top.
type Kind struct {
	Key, Doc string
	Several  bool // any number of rows, in order; else one, which an optional kind may lack
	Required bool
	Keys     []TableKey
	of       reflect.Type
}

// TableKey is a key of a table.
type TableKey struct {
	Key, Doc string
	Required bool
	YesNo    bool     // typed as "1" or ""
	Choices  []string // the values that there are; nil: any
	List     bool     // several, parted by commas or line ends
	of       reflect.Type
}

// OpenTables begins to change the tables of a file. A text that cannot be read to its
// end is an error.
func OpenTables(name string, text []byte) (*Tables, error) {
	w := &Tables{name: name, of: reflect.TypeFor[plan.Plan]()}
	switch plan.KindOf(text) {
	case plan.LoadFile:
		w.of = reflect.TypeFor[plan.Load]()
	case plan.StationFile:
		w.of = reflect.TypeFor[plan.Station]()
	}
	if err := w.read(text); err != nil {
		return nil, err
	}
	return w, nil
}

func (w *Tables) read(text []byte) error {
	v := reflect.New(w.of)
	file, found := tomlfile.Decode(w.name, text, v.Interface())
	if file == nil || file.Broken() {
		return errors.New("the file has lines that cannot be read: correct them first, at the findings")
	}
	w.text, w.value, w.file, w.found = text, v.Elem(), file, found
	return nil
}

// Text is the file as it is now.
func (w *Tables) Text() []byte { return w.text }

// table is the struct of a kind of table: of a table, or of each in a list of them.
func table(t reflect.Type) (of reflect.Type, several, ok bool) {
	if several = t.Kind() == reflect.Slice; several {
		t = t.Elem()
	}
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct {
		return nil, false, false
	}
	_, ok = t.FieldByName("Table")
	return t, several, ok
}

// Kinds are the kinds of table that the file can have, in the order of a file.
func (w *Tables) Kinds() []Kind { return kindsOf(w.of) }

func kindsOf(file reflect.Type) (all []Kind) {
	top := Kind{Doc: "the files that this one is made with", Required: true, of: file}
	for _, f := range tomlfile.Fields(file) {
		of, several, ok := table(f.Type)
		if !ok {
			top.Keys = append(top.Keys, keyOf(f))
			continue
		}
		k := Kind{Key: f.Key, Doc: f.Doc, Several: several, Required: f.Required, of: of}
		for _, in := range tomlfile.Fields(of) {
			if _, _, table := table(in.Type); !table {
				k.Keys = append(k.Keys, keyOf(in))
			}
		}
		all = append(all, k)
	}
	if len(top.Keys) > 0 {
		all = append([]Kind{top}, all...)
	}
	return all
}

func keyOf(f tomlfile.Field) TableKey {
	k := TableKey{Key: f.Key, Doc: f.Doc, Required: f.Required, of: f.Type}
	switch f.Type {
	case reflect.TypeFor[radio.Use]():
		k.Choices = radio.UseNames()
	case reflect.TypeFor[radio.Mode]():
		k.Choices = radio.ModeNames()
	case reflect.TypeFor[radio.Width]():
		k.Choices = radio.WidthNames()
	case reflect.TypeFor[plan.Raster]():
		k.Choices = []string{plan.NoRaster.String()}
	}
	k.YesNo, k.List = f.Type.Kind() == reflect.Bool, f.Type.Kind() == reflect.Slice
	return k
}

// Kind is the kind of table under a key.
func (w *Tables) Kind(key string) (Kind, error) {
	all := w.Kinds()
	if i := slices.IndexFunc(all, func(k Kind) bool { return k.Key == key }); i >= 0 {
		return all[i], nil
	}
	return Kind{}, fmt.Errorf("this file has no table %q", key)
}

// Line is a table of the file as a person would type it.
type Line struct {
	Title  string
	Values map[string]string // by key; an absent one is ""
	Table  tomlfile.Table
	value  reflect.Value
}

// Lines are the tables of a kind that the file has.
func (w *Tables) Lines(k Kind) (all []Line) {
	if k.Key == "" {
		return []Line{k.line(w.value, 0)}
	}
	for _, f := range tomlfile.Fields(w.of) {
		switch v := f.Of(w.value); {
		case f.Key != k.Key:
		case k.Several:
			for i := range v.Len() {
				all = append(all, k.line(reflect.Indirect(v.Index(i)), i))
			}
		case w.file.Root().Has(k.Key):
			all = append(all, k.line(v, 0))
		}
	}
	return all
}

func (k Kind) line(v reflect.Value, i int) Line {
	t, _ := v.FieldByName("Table").Interface().(tomlfile.Table)
	l := Line{Values: map[string]string{}, Table: t, value: v}
	for _, f := range tomlfile.Fields(k.of) {
		if j := slices.IndexFunc(k.Keys, func(o TableKey) bool { return o.Key == f.Key }); j >= 0 {
			l.Values[f.Key] = shown(t, f.Key, f.Of(v))
		}
	}
	l.Title = k.title(l, i)
	return l
}

// title tells a table from its like.
func (k Kind) title(l Line, i int) string {
	v := l.Values
	switch {
	case !k.Several:
		return ""
	case k.Key == "group":
		return strings.TrimSpace("Group " + v["number"] + " " + v["name"])
	case k.Key == "tone":
		return "Tone " + v["number"]
	case k.Key == "accept":
		return v["rule"] + ": " + v["subject"]
	}
	for _, key := range []string{"name", "id", "channel", "rx", "system"} {
		if v[key] != "" {
			return v[key]
		}
	}
	if v["group"] != "" {
		return v["group"] + "-" + v["number"]
	}
	return fmt.Sprintf("[[%s]] %d", k.Key, i+1)
}

// shown is a value as a person would type it, and one that cannot be read as it is
// written.
func shown(t tomlfile.Table, key string, v reflect.Value) string {
	if !t.Has(key) {
		return ""
	}
	if !t.OK(key) {
		if at, ok := t.ValueSpan(key); ok {
			return strings.Trim(string(t.File().Text()[at.From:at.To]), `"`)
		}
	}
	if v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return ""
		}
		v = v.Elem()
	}
	switch x := v.Interface().(type) {
	case bool:
		if x {
			return "1"
		}
		return ""
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	case plan.ToneRef:
		if x.Number > 0 {
			return "tone " + strconv.Itoa(x.Number)
		}
		return x.Squelch.String()
	case time.Time:
		return x.Format(time.RFC3339)
	case plan.Names:
		return list(x)
	case []string:
		return list(x)
	case plan.Seats:
		var all []string
		for _, s := range x {
			all = append(all, fmt.Sprintf("%s = %d", s.Position, s.Count))
		}
		return list(all)
	case []radio.Mode:
		var all []string
		for _, m := range x {
			all = append(all, m.String())
		}
		return list(all)
	case []plan.Band:
		var all []string
		for _, b := range x {
			all = append(all, b.Low.String()+" - "+b.High.String())
		}
		return list(all)
	}
	return fmt.Sprint(v.Interface())
}

// list joins names so that [parted] finds them again.
func list(all []string) string {
	if slices.ContainsFunc(all, func(s string) bool { return strings.Contains(s, ",") }) {
		return strings.Join(all, "\n") + "\n"
	}
	return strings.Join(all, ", ")
}

// parted are the names that somebody typed: one on each line, or with commas between.
func parted(s string) (all []string) {
	by := ","
	if strings.Contains(s, "\n") {
		by = "\n"
	}
	for part := range strings.SplitSeq(s, by) {
		if part = clean(part); part != "" {
			all = append(all, part)
		}
	}
	return all
}

// typedValue is what was typed as a value of the file. An error completes a sentence
// that begins with the text.
func (k TableKey) typedValue(text string) (any, error) {
	of := k.of
	if of.Kind() == reflect.Pointer {
		of = of.Elem()
	}
	switch of {
	case reflect.TypeFor[radio.Hertz]():
		return mhz(text)
	case reflect.TypeFor[radio.Squelch]():
		if strings.EqualFold(text, "site") {
			return radio.Site, nil
		}
		return radio.ParseSquelch(strings.ToUpper(text))
	case reflect.TypeFor[plan.ToneRef]():
		number := strings.TrimSpace(strings.TrimPrefix(strings.ToLower(text), "tone"))
		if n, err := strconv.Atoi(number); err == nil {
			return n, nil
		}
		return radio.ParseSquelch(strings.ToUpper(text))
	case reflect.TypeFor[plan.Date]():
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			return nil, errors.New("is no day: write it such as 2027-03-01")
		}
		return edit.Raw(text), nil
	case reflect.TypeFor[time.Time]():
		if _, err := time.Parse(time.RFC3339, text); err != nil {
			return nil, errors.New("is no time: write it such as 2027-08-14T06:00:00-06:00")
		}
		return edit.Raw(text), nil
	case reflect.TypeFor[plan.Seats]():
		return typedSeats(text)
	case reflect.TypeFor[[]plan.Band]():
		return typedBands(text)
	case reflect.TypeFor[[]radio.Mode]():
		all := parted(text)
		for _, m := range all {
			if _, ok := radio.ParseMode(m); !ok {
				return nil, fmt.Errorf("names %q, which is no mode: there are %s", m, strings.Join(radio.ModeNames(), ", "))
			}
		}
		return all, nil
	case reflect.TypeFor[plan.Names]():
		all := parted(text)
		if len(all) == 1 {
			return all[0], nil
		}
		return all, nil
	}
	switch of.Kind() {
	case reflect.Bool:
		return text != "", nil
	case reflect.Int:
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, errors.New("is no whole number")
		}
		return n, nil
	case reflect.Float64:
		n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil {
			return nil, errors.New("is no number, such as 44.1")
		}
		return n, nil
	case reflect.Slice:
		return parted(text), nil
	}
	if k.Choices != nil && !slices.Contains(k.Choices, text) {
		return nil, fmt.Errorf("is none of %s", strings.Join(k.Choices, ", "))
	}
	return text, nil
}

func mhz(text string) (radio.Hertz, error) {
	h, err := radio.ParseMHz(strings.Replace(text, ",", ".", 1))
	if err != nil {
		return 0, fmt.Errorf("%w: write MHz, such as 154.2800", err)
	}
	return h, nil
}

func typedSeats(text string) (any, error) {
	var pairs tomlfile.Pairs
	for _, part := range parted(text) {
		name, count, _ := strings.Cut(part, "=")
		n, err := strconv.Atoi(clean(count))
		if err != nil || clean(name) == "" {
			return nil, errors.New("is no list of seats: write it such as Engine boss = 1, Firefighter = 3")
		}
		pairs = append(pairs, tomlfile.Pair{Key: clean(name), Value: n})
	}
	return pairs, nil
}

func typedBands(text string) (any, error) {
	var all []string
	for _, part := range parted(text) {
		low, high, _ := strings.Cut(strings.ReplaceAll(part, "–", "-"), "-")
		l, err := mhz(clean(low))
		h, err2 := mhz(clean(high))
		if err != nil || err2 != nil {
			return nil, errors.New("is no list of bands: write the lowest and the highest frequency of each in MHz, such as 136.0 - 174.0, 380.0 - 470.0")
		}
		all = append(all, fmt.Sprintf("[%s, %s]", l, h))
	}
	return edit.Raw("[" + strings.Join(all, ", ") + "]"), nil
}

// change makes an edit of the file, whole or not at all. What could be read before it
// can be read after it: else the error says what could not.
func (w *Tables) change(gather func(e *edit.Editor)) error {
	e := edit.Open(w.file)
	gather(e)
	text, err := e.Text()
	if err != nil {
		return err
	}
	return w.read(decided(w.text, text))
}

// whole makes several changes, all of them or none, and none by which something cannot
// be read that could be before.
func (w *Tables) whole(changes func() error) error {
	before := *w
	known := map[string]int{}
	for _, f := range w.found {
		known[f.Message]++
	}
	err := changes()
	for _, f := range w.found {
		if known[f.Message]--; err == nil && known[f.Message] < 0 && f.Severity == finding.Error {
			err = errors.New(f.Message)
		}
	}
	if err != nil {
		*w = before
	}
	return err
}

// typed reads what was typed for a new table, or for one that is there: then only what
// differs. A value of nil takes the key out.
func (k Kind) typed(values, was map[string]string) (all tomlfile.Pairs, err error) {
	for _, key := range k.Keys {
		text, given := values[key.Key]
		same := clean(text) == clean(was[key.Key])
		if key.List {
			same = slices.Equal(parted(text), parted(was[key.Key]))
		} else {
			text = clean(text)
		}
		empty := clean(text) == "" || key.List && len(parted(text)) == 0
		switch {
		case was != nil && (!given || same):
			continue
		case empty && key.Required:
			return nil, fmt.Errorf("fill in “%s”: %s", key.Title(), key.Doc)
		case empty && was == nil:
			continue
		case empty:
			all = append(all, tomlfile.Pair{Key: key.Key})
			continue
		}
		v, err := key.typedValue(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %q %w", key.Title(), text, err)
		}
		all = append(all, tomlfile.Pair{Key: key.Key, Value: v})
	}
	return all, nil
}

// keyTitles are what keys are called that do not say it themselves.
var keyTitles = map[string]string{
	"elevation_m": "elevation, meters", "elevation_ft": "elevation, feet", "hz": "tone, hertz or code", "dpi": "dots an inch",
	"because": "the reason", "by": "who answers for it", "rx": "receive, MHz", "tx": "transmit, MHz", "rx_tone": "receive tone", "tx_tone": "transmit tone",
	"edge": "edge, mm", "gap": "gap, mm", "width": "width, mm", "height": "height, mm", "left": "left, mm", "top": "top, mm", "gutter_x": "between columns, mm", "gutter_y": "between rows, mm",
	"bands": "bands, MHz", "list_positions": "positions in a list", "name_length": "characters of a name",
}

// Title is the key as a field is called.
func (k TableKey) Title() string {
	if title := keyTitles[k.Key]; title != "" {
		return title
	}
	return strings.ReplaceAll(k.Key, "_", " ")
}

// Set says what table i of a kind is; only what differs is written. What refers to it
// by number or name follows.
func (w *Tables) Set(k Kind, i int, values map[string]string) error {
	lines := w.Lines(k)
	if err := place(i, len(lines), k.Key); err != nil {
		return err
	}
	was := lines[i]
	now, err := k.typed(values, was.Values)
	if err != nil {
		return err
	}
	return w.whole(func() error {
		if err := w.refer(k, was, now); err != nil {
			return err
		}
		for _, p := range now {
			if err := w.set(k, i, p); err != nil {
				return err
			}
		}
		return nil
	})
}

// set gives one key of a table another value. Of a list in brackets only the items are
// touched that differ, so that remarks between the others stay.
func (w *Tables) set(k Kind, i int, p tomlfile.Pair) error {
	t := w.Lines(k)[i].Table
	now, isList := p.Value.([]string)
	items, written := t.ItemSpans(p.Key)
	if p.Value == nil {
		return w.change(func(e *edit.Editor) { e.Delete(t, p.Key) })
	}
	if s, one := p.Value.(string); one && written && len(items) > 0 {
		now, isList = []string{s}, true
	}
	if !isList || !written || len(items) == 0 {
		return w.change(func(e *edit.Editor) { e.Set(t, p.Key, p.Value) })
	}
	return w.setItems(k, i, p.Key, now)
}

func (w *Tables) setItems(k Kind, i int, key string, now []string) error {
	items := func() (all []string) {
		t := w.Lines(k)[i].Table
		spans, _ := t.ItemSpans(key)
		for _, s := range spans {
			all = append(all, string(w.file.Text()[s.From:s.To]))
		}
		return all
	}
	want := make([]string, len(now))
	for n, s := range now {
		text, err := edit.Value(s)
		if err != nil {
			return err
		}
		want[n] = text
	}
	step := func(gather func(e *edit.Editor, t tomlfile.Table)) error {
		t := w.Lines(k)[i].Table
		return w.change(func(e *edit.Editor) { gather(e, t) })
	}
	if was := items(); len(was) == len(want) { // some are called otherwise
		for n := range want {
			if was[n] != want[n] && !slices.Contains(want, was[n]) && !slices.Contains(was, want[n]) {
				if err := step(func(e *edit.Editor, t tomlfile.Table) { e.SetItem(t, key, n, now[n]) }); err != nil {
					return err
				}
			}
		}
	}
	was := items()
	for n := len(was) - 1; n >= 0; n-- {
		if !slices.Contains(want, was[n]) {
			if err := step(func(e *edit.Editor, t tomlfile.Table) { e.DeleteItem(t, key, n) }); err != nil {
				return err
			}
		}
	}
	for n, s := range want {
		if !slices.Contains(was, s) {
			if err := step(func(e *edit.Editor, t tomlfile.Table) { e.AddItem(t, key, now[n]) }); err != nil {
				return err
			}
		}
	}
	for n, s := range want {
		if at := slices.Index(items(), s); at > n {
			if err := step(func(e *edit.Editor, t tomlfile.Table) { e.MoveItem(t, key, at, n) }); err != nil {
				return err
			}
		}
	}
	if !slices.Equal(items(), want) { // one that stands twice
		return step(func(e *edit.Editor, t tomlfile.Table) { e.Set(t, key, now) })
	}
	return nil
}

// refer writes the new number of a tone, or name of a position, where the file names the
// old one. It refuses to take away what is named.
func (w *Tables) refer(k Kind, was Line, now tomlfile.Pairs) error {
	at := slices.IndexFunc(now, func(p tomlfile.Pair) bool { return p.Key == "number" || p.Key == "name" })
	if at < 0 {
		return nil
	}
	switch to := now[at].Value; k.Key {
	case "tone":
		return w.change(func(e *edit.Editor) {
			for _, s := range w.toneSites(was) {
				e.Set(s.Table, "tone", to)
			}
		})
	case "position":
		from := was.Values["name"]
		return w.change(func(e *edit.Editor) {
			for _, u := range w.seated(from) {
				if seats, ok := u.TableIn("seats"); ok {
					e.Rename(seats, from, to.(string))
				}
			}
		})
	}
	return nil
}

// toneSites are the sites that a numbered tone opens, by its number.
func (w *Tables) toneSites(tone Line) (all []*plan.Site) {
	l, ok := w.value.Addr().Interface().(*plan.Load)
	for _, s := range valueIf(ok, func() []*plan.Site { return l.Sites }) {
		if strconv.Itoa(s.Tone.Number) == tone.Values["number"] {
			all = append(all, s)
		}
	}
	return all
}

// seated are the units of the file with seats of a position.
func (w *Tables) seated(position string) (all []*plan.Unit) {
	var units []*plan.Unit
	switch f := w.value.Addr().Interface().(type) {
	case *plan.Plan:
		units = f.Units
	case *plan.Station:
		units = f.Units
	}
	for _, u := range units {
		if slices.ContainsFunc(u.Seats, func(s plan.Seat) bool { return s.Position == position }) {
			all = append(all, u)
		}
	}
	return all
}

func valueIf[T any](ok bool, get func() T) (v T) {
	if ok {
		v = get()
	}
	return v
}

// Add puts a new table behind the others of its kind, and tells which it is.
func (w *Tables) Add(k Kind, values map[string]string) (int, error) {
	lines := w.Lines(k)
	if !k.Several && len(lines) > 0 {
		return 0, fmt.Errorf("the file has [%s] already", k.Key)
	}
	keys, err := k.typed(values, nil)
	if err != nil {
		return 0, err
	}
	if len(keys) == 0 {
		return 0, errors.New("nothing is filled in")
	}
	t := edit.Table{Header: "[" + k.Key + "]", Keys: keys}
	if k.Several {
		t.Header = "[" + t.Header + "]"
	}
	return len(lines), w.whole(func() error {
		return w.change(func(e *edit.Editor) {
			switch {
			case len(lines) > 0 && lines[0].Table.Form() != tomlfile.Headed:
				e.AddItem(w.file.Root(), k.Key, keys)
			case len(lines) > 0:
				e.InsertAfter(lines[len(lines)-1].Table, t)
			default:
				w.first(e, k, t)
			}
		})
	})
}

// Inherited are the tables of a kind that hold for a plan without any: those of its
// station file.
func (w *Tables) Inherited(k Kind, station *plan.Station) []Line {
	if w.of != reflect.TypeFor[plan.Plan]() || station == nil || !station.Has(k.Key) || len(w.Lines(k)) > 0 {
		return nil
	}
	from := &Tables{name: station.Path, of: reflect.TypeFor[plan.Station]()}
	if err := from.read(station.File().Text()); err != nil {
		return nil // the station's findings say so
	}
	return from.Lines(k)
}

// inStation tells whether a station file can have tables of a kind.
func inStation(k Kind) bool {
	return slices.ContainsFunc(kindsOf(reflect.TypeFor[plan.Station]()), func(o Kind) bool { return o.Key == k.Key })
}

// AddTo is Add for a plan with a station file: what holds from there becomes the plan's
// own first, as none of it would hold any more beside a table of the plan's.
func (w *Tables) AddTo(k Kind, station *plan.Station, values map[string]string) (at int, err error) {
	isPlan := w.of == reflect.TypeFor[plan.Plan]()
	if err := baseUnread(isPlan && w.file.Root().Has("base") && len(w.Lines(k)) == 0 && inStation(k), station); err != nil {
		return 0, err
	}
	err = w.whole(func() error {
		if k.Several {
			for _, l := range w.Inherited(k, station) {
				if _, err := w.Add(k, l.Values); err != nil {
					return err
				}
			}
		}
		at, err = w.Add(k, values)
		return err
	})
	return at, err
}

// first puts the first table of a kind where its kind belongs: before the next kind that
// the file has.
func (w *Tables) first(e *edit.Editor, k Kind, t edit.Table) {
	kinds := w.Kinds()
	at := slices.IndexFunc(kinds, func(o Kind) bool { return o.Key == k.Key })
	for _, o := range kinds[at+1:] {
		if lines := w.Lines(o); len(lines) > 0 && lines[0].Table.Form() == tomlfile.Headed {
			e.InsertBefore(lines[0].Table, t)
			return
		}
	}
	e.Append(t)
}

// Delete takes table i of a kind out of the file, and with a group the names of its
// channels out of the sites that repeat them. What others name stays, and the error says
// by whom.
func (w *Tables) Delete(k Kind, i int) error {
	lines := w.Lines(k)
	if err := place(i, len(lines), k.Key); err != nil {
		return err
	}
	l := lines[i]
	if sites := w.toneSites(l); k.Key == "tone" && len(sites) > 0 {
		return fmt.Errorf("%s opens %s: give that site another tone first", l.Title, sites[0].Name)
	}
	if units := w.seated(l.Values["name"]); k.Key == "position" && len(units) > 0 {
		return fmt.Errorf("%s has seats for %s: take those out first", units[0].Name, l.Values["name"])
	}
	return w.whole(func() error {
		err := w.change(func(e *edit.Editor) {
			switch {
			case k.Several && l.Table.Form() == tomlfile.InBraces:
				e.DeleteItem(w.file.Root(), k.Key, i)
			case l.Table.Form() == tomlfile.InBraces:
				e.Delete(w.file.Root(), k.Key)
			default:
				e.DeleteTable(l.Table)
			}
		})
		if g, ok := l.value.Addr().Interface().(*plan.Group); ok && err == nil {
			return w.forget(g)
		}
		return err
	})
}

// forget takes the names of channels that are no longer in the load out of the sites.
func (w *Tables) forget(g *plan.Group) error {
	load := w.value.Addr().Interface().(*plan.Load)
	there := map[string]bool{}
	for _, c := range load.Channels() {
		there[c.Name] = true
	}
	for i := range load.Sites {
		for _, c := range g.Channels {
			s := w.value.Addr().Interface().(*plan.Load).Sites[i]
			if k := slices.Index(s.Channels, c.Name); k >= 0 && !there[c.Name] {
				if err := w.change(func(e *edit.Editor) { e.DeleteItem(s.Table, "channels", k) }); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// Move puts table i of a kind where table to stands.
func (w *Tables) Move(k Kind, i, to int) error {
	lines := w.Lines(k)
	if err := place(i, len(lines), k.Key); err != nil {
		return err
	}
	if to < 0 || to >= len(lines) || to == i {
		return errors.New("there is nothing above or below it: it stays")
	}
	return w.whole(func() error {
		return w.change(func(e *edit.Editor) {
			switch {
			case lines[i].Table.Form() == tomlfile.InBraces:
				e.MoveItem(w.file.Root(), k.Key, i, to)
			case to < i:
				e.MoveBefore(lines[i].Table, lines[to].Table)
			default:
				e.MoveAfter(lines[i].Table, lines[to].Table)
			}
		})
	})
}
