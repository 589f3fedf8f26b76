package tomlfile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"slotcard/plan/finding"
)

// unmarshaler is a type with rules of its own. It gets a string, int64, float64,
// bool, time.Time, []any or [Pairs].
type unmarshaler interface{ UnmarshalTOML(any) error }

type placed interface{ setTable(*File, *node) }

// Field is a key of a table as the struct's tags describe it.
type Field struct {
	Key      string
	Alias    string // another spelling that is read as well; "": none
	Required bool
	Doc      string
	Type     reflect.Type
	index    []int
}

var fieldsOf sync.Map // of reflect.Type: []Field

// Fields are the keys that a struct type reads, in order. Embedded structs
// without a tag give theirs.
func Fields(t reflect.Type) []Field {
	if cached, ok := fieldsOf.Load(t); ok {
		return cached.([]Field)
	}
	var fields []Field
	for i := range t.NumField() {
		sf := t.Field(i)
		tag, tagged := sf.Tag.Lookup("toml")
		key, options, _ := strings.Cut(tag, ",")
		switch {
		case key == "-":
		case !tagged && sf.Anonymous && sf.Type.Kind() == reflect.Struct:
			for _, inner := range Fields(sf.Type) {
				inner.index = append([]int{i}, inner.index...)
				fields = append(fields, inner)
			}
		case tagged && sf.IsExported():
			fields = append(fields, Field{key, sf.Tag.Get("alias"), options == "required", sf.Tag.Get("doc"), sf.Type, []int{i}})
		}
	}
	fieldsOf.Store(t, fields)
	return fields
}

// fill reads the tree into the struct that into points to.
func (f *File) fill(into any) {
	f.kind = reflect.TypeOf(into).Elem()
	f.table(f.root, reflect.ValueOf(into).Elem(), "")
}

// home is the header of the first table that can be several and has a key; empty
// where there is none.
func (f *File) home(key string) string {
	for _, field := range Fields(f.kind) {
		t := field.Type
		for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if isTables(field.Type) && t.Kind() == reflect.Struct && slices.ContainsFunc(Fields(t), func(in Field) bool { return in.Key == key }) {
			return "[[" + field.Key + "]]"
		}
	}
	return ""
}

// path of a key below the table called title, and how its header is written.
func join(title, key string) string {
	if title == "" {
		return key
	}
	return title + "." + key
}

// table reads table n into the struct dst. Title is its dotted name, "" at the
// top of the file.
func (f *File) table(n *node, dst reflect.Value, title string) {
	if p, ok := dst.Addr().Interface().(placed); ok {
		p.setTable(f, n)
	}
	fields := Fields(dst.Type())
	byKey := func(match func(string) bool) *Field {
		for i := range fields {
			if match(fields[i].Key) {
				return &fields[i]
			}
		}
		return nil
	}
	read := make(map[string]bool, len(n.names))
	for i, name := range n.names {
		child := n.nodes[i]
		field := byKey(func(key string) bool { return key == name })
		written := name
		if field == nil {
			if field = aliased(fields, name); field != nil {
				if first := n.get(field.Key); first != nil {
					f.twoSpellings(child, first, name, field.Key)
					continue
				}
				n.rename(i, field.Key)
			}
		}
		if field == nil {
			field = byKey(func(key string) bool { return strings.EqualFold(key, name) })
			if field == nil {
				if meant := f.unknownKey(n, child, name, title, fields); meant != "" {
					read[meant] = true // that it is missing has the same cause
				}
				continue
			}
			fault := f.add(child.key, RuleKeyCase, fmt.Sprintf("the key %s must be written %s", name, field.Key))
			f.rename(fault, "write "+field.Key, n, name, field.Key)
			read[field.Key] = true
			if n.get(field.Key) != nil {
				continue
			}
		}
		read[field.Key] = true
		if !child.bad {
			if field.Alias != written {
				written = field.Key
			}
			f.value(child, dst.FieldByIndex(field.index), written, join(title, written))
		}
	}
	if n.spoiled || n.strange || f.empty {
		return
	}
	for _, field := range fields {
		if field.Required && !read[field.Key] && !(f.lostHeader && isTables(field.Type)) {
			f.missingKey(n, title, field)
		}
	}
}

// aliased is the field of which name is the other spelling.
func aliased(fields []Field, name string) *Field {
	for i := range fields {
		if fields[i].Alias == name {
			return &fields[i]
		}
	}
	return nil
}

// twoSpellings reports a key that stands in both of its spellings.
func (f *File) twoSpellings(second, first *node, name, key string) {
	where := f.place(first.key)
	fault := f.add(second.key, RuleDuplicateKey, fmt.Sprintf("%s and %s are one key; %s stands in line %d", key, name, key, where.Line), "delete one of them")
	fault.Related = []finding.Related{{Place: where, Message: key + " stands here"}}
}

// unknownKey reports a key that means nothing in its table, and gives the one that
// is probably meant, "" where none is close. It may be one that seems to be
// missing there, or belong to a table whose header was lost: nothing is said to be
// absent that may have been written so.
func (f *File) unknownKey(n, child *node, name, title string, fields []Field) string {
	n.strange, f.doubtful = true, true
	if title == "" {
		f.lostHeader = true
	}
	if len(f.findings) >= MaxTotal {
		f.dropped++
		return ""
	}
	var keys []string
	for _, field := range fields {
		keys = append(keys, field.Key)
	}
	where := "at the top of the file"
	if title != "" {
		where = "in [" + title + "]"
	}
	message := fmt.Sprintf("there is no key %s %s", strconv.Quote(name), where)
	help := "keys " + where + " are: " + strings.Join(keys, ", ")
	close := finding.Closest(name, keys, 1)
	if len(close) > 0 {
		message += "; the closest is " + close[0]
		help = ""
	}
	fault := f.add(child.key, RuleUnknownKey, message, help)
	if home := f.home(name); title != "" && len(close) == 0 && home != "" {
		fault.Help = append(fault.Help, fmt.Sprintf("if a %s begins here, write %s above this line", home, home))
		fault.Cause.Name = where + home // the keys of one entry whose header was lost
	}
	fault.Data = map[string]any{"key": name}
	if len(close) == 0 {
		return ""
	}
	fault.Data["closest"] = close[0]
	f.rename(fault, "did you mean "+close[0]+"?", n, name, close[0])
	return close[0]
}

func (f *File) missingKey(n *node, title string, field Field) {
	place, where := f.place(n.where()), "in ["+title+"]"
	if n == f.root {
		place, where = finding.Place{File: f.name}, "in the file"
	}
	message, help := field.Key+" is missing "+where, ""
	switch {
	case isList(field.Type):
		message = "there is no [[" + join(title, field.Key) + "]] " + where
		help = "add at least one [[" + join(title, field.Key) + "]]: " + field.Doc
	case isTable(field.Type):
		message = "the table [" + join(title, field.Key) + "] is missing"
		help = "add [" + join(title, field.Key) + "]: " + field.Doc
	default:
		help = "add " + field.Key + " = " + example(field.Type) + ": " + field.Doc
	}
	fault := f.addAt(place, RuleMissingKey, message, help)
	fault.Data = map[string]any{"key": field.Key}
}

var timeType = reflect.TypeFor[time.Time]()

func custom(t reflect.Type) bool {
	return reflect.PointerTo(t).Implements(reflect.TypeFor[unmarshaler]())
}
func isTable(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && t != timeType && !custom(t)
}
func isList(t reflect.Type) bool {
	return t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Pointer && isTable(t.Elem().Elem())
}
func isTables(t reflect.Type) bool { return isTable(t) || isList(t) }

// example is what a value of the type looks like.
func example(t reflect.Type) string {
	switch {
	case custom(t):
		return "..."
	case t == timeType:
		return "2027-08-14T06:00:00-06:00"
	case t.Kind() == reflect.String:
		return `"..."`
	case t.Kind() == reflect.Slice:
		return "[...]"
	}
	return "..."
}

// value reads n into dst. Key is how messages call it, title its dotted name.
func (f *File) value(n *node, dst reflect.Value, key, title string) {
	t := dst.Type()
	if t.Kind() == reflect.Pointer {
		fresh := reflect.New(t.Elem())
		f.value(n, fresh.Elem(), key, title)
		if !n.bad {
			dst.Set(fresh)
		}
		return
	}
	switch {
	case t == timeType:
		f.time(n, dst, key)
	case custom(t):
		f.custom(n, dst, key)
	case isList(t):
		f.list(n, dst, key, title)
	case isTable(t):
		switch {
		case n.tables:
			fault := f.wrongType(n, key, fmt.Sprintf("%s must be written [%s], in single brackets: there is only one", key, title), "")
			f.offer(fault, "write ["+title+"]", f.brackets(n, -1)...)
		case n.kind != table:
			f.typeFault(n, key, "a table", "write ["+title+"] and its keys below it")
		default:
			f.table(n, dst, title)
		}
	case t.Kind() == reflect.Slice:
		if n.kind != array || n.tables {
			f.typeFault(n, key, "a list", "write "+key+" = [...]")
			return
		}
		items := reflect.MakeSlice(t, len(n.nodes), len(n.nodes))
		for i, item := range n.nodes {
			f.value(item, items.Index(i), fmt.Sprintf("item %d of %s", i+1, key), title)
			n.bad = n.bad || item.bad
		}
		dst.Set(items)
	default:
		f.plain(n, dst, key)
	}
}

// list reads an array of tables.
func (f *File) list(n *node, dst reflect.Value, key, title string) {
	if n.kind == table && !n.closed {
		help := "write [[" + title + "]]"
		if f.dropRepeats(n) {
			help += ", here and wherever it stands again"
		}
		fault := f.wrongType(n, key, fmt.Sprintf("%s must be written [[%s]], in double brackets: there can be several", key, title), "")
		f.offer(fault, help, f.brackets(n, +1)...)
		return
	}
	if n.kind != array {
		f.typeFault(n, key, "a list of tables", "write [["+title+"]] for each")
		return
	}
	items := reflect.MakeSlice(dst.Type(), 0, len(n.nodes))
	for i, item := range n.nodes {
		if item.kind != table {
			f.typeFault(item, fmt.Sprintf("item %d of %s", i+1, key), "a table", "write [["+title+"]] for each")
			n.bad = true
			continue
		}
		fresh := reflect.New(dst.Type().Elem().Elem())
		f.table(item, fresh.Elem(), title)
		items = reflect.Append(items, fresh)
	}
	dst.Set(items)
}

// brackets are the changes that add a bracket on both sides of all headers of
// the same name as that of n, or, with -1, take one away.
func (f *File) brackets(n *node, by int) []finding.Change {
	var changes []finding.Change
	i := slices.IndexFunc(f.headers, func(h header) bool { return h.text == n.key })
	if i < 0 {
		return nil
	}
	for _, h := range f.headers {
		open, shut := Span{h.text.from, h.text.from}, Span{h.text.to, h.text.to}
		switch {
		case !slices.Equal(h.names, f.headers[i].names):
		case by > 0:
			changes = append(changes, f.Change(open, "["), f.Change(shut, "]"))
		default:
			open.To, shut.From = open.To+1, shut.From-1
			changes = append(changes, f.Change(open, ""), f.Change(shut, ""))
		}
	}
	return changes
}

// dropRepeats takes back what was said of headers that repeat the one of n:
// where there can be several of them, the brackets are at fault.
func (f *File) dropRepeats(n *node) (some bool) {
	first := f.place(n.key)
	f.findings = slices.DeleteFunc(f.findings, func(said finding.Finding) bool {
		repeat := said.Rule == RuleDuplicateKey && len(said.Related) == 1 && said.Related[0].Place == first
		some = some || repeat
		return repeat
	})
	return some
}

// assignment is what to type for key; for an item of a list the value alone.
func assignment(key, value string) string {
	if strings.HasPrefix(key, "item ") {
		return value
	}
	return key + " = " + value
}

func (f *File) plain(n *node, dst reflect.Value, key string) {
	switch dst.Kind() {
	case reflect.String:
		if s, ok := n.raw.(string); ok {
			dst.SetString(s)
			return
		}
		switch n.raw.(type) {
		case int64, float64, bool:
			f.typeFault(n, key, "text in quotes", "write it in quotes: ", strconv.Quote(f.source(n.value)))
		default:
			f.typeFault(n, key, "text in quotes", "write "+assignment(key, `"..."`))
		}
	case reflect.Bool:
		if b, ok := n.raw.(bool); ok {
			dst.SetBool(b)
			return
		}
		help := "write " + key + " = true or " + key + " = false"
		f.typeFault(n, key, "true or false", help)
	case reflect.Int:
		switch v := n.raw.(type) {
		case int64:
			if v != int64(int32(v)) {
				n.bad = true
				f.add(n.value, RuleOutOfRange, fmt.Sprintf("%s %d is too large", key, v), "check the number of digits")
				return
			}
			dst.SetInt(v)
			return
		case string:
			if _, err := strconv.Atoi(v); err == nil {
				f.typeFault(n, key, "a whole number", "write it without quotes: ", v)
				return
			}
		}
		f.typeFault(n, key, "a whole number", "write digits alone, such as "+assignment(key, "2"))
	case reflect.Float64:
		switch v := n.raw.(type) {
		case int64:
			dst.SetFloat(float64(v))
			return
		case float64:
			if math.IsNaN(v) || math.IsInf(v, 0) {
				n.bad = true
				f.add(n.value, RuleOutOfRange, fmt.Sprintf("%s %s is not a number that can be measured", key, f.source(n.value)), "write a number")
				return
			}
			dst.SetFloat(v)
			return
		case string:
			if _, err := strconv.ParseFloat(v, 64); err == nil {
				f.typeFault(n, key, "a number", "write it without quotes: ", v)
				return
			}
		}
		f.typeFault(n, key, "a number", "write digits, with a decimal point where needed, such as "+assignment(key, "44.1"))
	default:
		panic("tomlfile: no way to read a " + dst.Type().String())
	}
}

func (f *File) time(n *node, dst reflect.Value, key string) {
	const want = "a date and time with its UTC offset"
	const sample = "write it as 2027-08-14T06:00:00-06:00, with the offset of the incident's local time"
	t, ok := n.raw.(time.Time)
	switch {
	case !ok, t.Location().String() == localDate, t.Location().String() == localTime:
		if s, text := n.raw.(string); text {
			if _, err := time.Parse(time.RFC3339, s); err == nil {
				f.typeFault(n, key, want, "write it without quotes: ", s)
				return
			}
		}
		f.typeFault(n, key, want, sample)
	case t.Location().String() == localDateTime:
		n.bad = true
		fault := f.add(n.value, RuleNoOffset, key+" has no UTC offset")
		if offset, ok := f.offset(); ok {
			with := f.source(n.value) + offset
			f.replace(fault, "write "+assignment(key, with)+", with the offset of the other times", n.value, with)
			return
		}
		fault.Offer(finding.Edit{Title: "put the offset of the incident's local time behind it, such as " + f.source(n.value) + "-06:00"})
	default:
		dst.Set(reflect.ValueOf(t))
	}
}

// offset is the UTC offset of all times of the file that have one, if it is the
// same of all.
func (f *File) offset() (string, bool) {
	offset := ""
	for _, s := range f.statements {
		t, ok := s.node.raw.(time.Time)
		if !ok || local(t) {
			continue
		}
		other := t.Format("-07:00")
		if offset != "" && offset != other {
			return "", false
		}
		offset = other
	}
	return offset, offset != ""
}

func (f *File) custom(n *node, dst reflect.Value, key string) {
	err := dst.Addr().Interface().(unmarshaler).UnmarshalTOML(n.plainValue())
	if err == nil {
		return
	}
	n.bad = true
	if dst.Kind() != reflect.Slice { // items that could be read stay: they save follow-on faults
		dst.SetZero()
	}
	faults := []error{err}
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		faults = joined.Unwrap()
	}
	for _, err := range faults {
		f.customFault(n, key, err)
	}
}

func (f *File) customFault(n *node, key string, err error) {
	at := n.value
	subject := key
	var item *ItemError
	if errors.As(err, &item) && item.Index >= 0 && item.Index < len(n.nodes) {
		at = n.item(item.Index)
		subject = fmt.Sprintf("item %d of %s", item.Index+1, key)
		if n.kind == table {
			subject = key + " " + strconv.Quote(n.names[item.Index])
		} else if n.nodes[item.Index].kind == scalar {
			subject = key + " " + f.source(at)
		}
		err = item.Err
	} else if n.kind == scalar {
		subject = key + " " + f.source(at)
	}
	rule, message := RuleBadValue, subject+" "+err.Error()
	if f.source(at) == toDecide {
		message = key + stillOpen
	}
	var help []string
	var instead []finding.Instead
	var reason *finding.ValueError
	if errors.As(err, &reason) {
		rule = cmp.Or(reason.Rule, RuleBadValue)
		help, instead = reason.Help, reason.Instead
		if len(reason.Choices) > 0 {
			var text string
			if item != nil {
				text, _ = n.nodes[item.Index].raw.(string)
			} else {
				text, _ = n.raw.(string)
			}
			if close := finding.Closest(text, reason.Choices, 1); len(close) > 0 {
				message += "; the closest is " + close[0]
				word := strconv.Quote(close[0])
				instead = append(instead, finding.Instead{Value: word, Title: "did you mean " + word + "?"})
			} else {
				help = append(help, "write one of: "+strings.Join(reason.Choices, ", "))
			}
		}
	}
	fault := f.add(at, rule, message, help...)
	for _, other := range instead {
		f.replace(fault, cmp.Or(other.Title, "write "+other.Value), at, other.Value)
	}
}

// plainValue is the value of n as an UnmarshalTOML method gets it.
func (n *node) plainValue() any {
	switch n.kind {
	case array:
		items := make([]any, len(n.nodes))
		for i, child := range n.nodes {
			items[i] = child.plainValue()
		}
		return items
	case table:
		pairs := make(Pairs, len(n.nodes))
		for i, child := range n.nodes {
			pairs[i] = Pair{n.names[i], child.plainValue()}
		}
		return pairs
	}
	return n.raw
}

// toDecide is what a drafted or imported file holds where a person must choose.
const (
	toDecide  = `"DECIDE"`
	stillOpen = " is still to be decided"
)

func (f *File) wrongType(n *node, key, message, help string) *finding.Finding {
	n.bad = true
	if n.kind == scalar && f.source(n.value) == toDecide {
		message = key + stillOpen
	}
	return f.add(n.value, RuleWrongType, message, help)
}

// typeFault says that key must be what is wanted, and what it is. With a value to
// write instead, that is the help, behind the words given.
func (f *File) typeFault(n *node, key, want, help string, instead ...string) {
	message := fmt.Sprintf("%s must be %s, not %s", key, want, f.describe(n))
	if len(instead) == 0 {
		f.wrongType(n, key, message, help)
		return
	}
	f.replace(f.wrongType(n, key, message, ""), help+assignment(key, instead[0]), n.value, instead[0])
}

func (f *File) describe(n *node) string {
	switch n.kind {
	case array:
		if n.tables {
			return "a list of tables"
		}
		return "a list"
	case table:
		return "a table"
	}
	text := f.source(n.value)
	switch v := n.raw.(type) {
	case string:
		return "the text " + text
	case int64, float64:
		return "the number " + text
	case time.Time:
		switch v.Location().String() {
		case localDate:
			return "the day " + text
		case localTime:
			return "the time " + text
		}
		return "the date and time " + text
	}
	return text
}

// Of is the field in the struct v.
func (f Field) Of(v reflect.Value) reflect.Value { return v.FieldByIndex(f.index) }
