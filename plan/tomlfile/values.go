package tomlfile

import (
	"errors"
	"strings"
	"time"

	"github.com/BurntSushi/toml"
)

// readValues decodes every value. A sound file is decoded as a whole, where it is
// not plain; otherwise each statement by itself, so that one fault does not hide
// the others.
func (f *File) readValues() {
	var whole error
	if !f.broken && f.duplicates == 0 {
		if f.readPlain() {
			return
		}
		var values map[string]any
		if _, whole = toml.Decode(string(f.data), &values); whole == nil {
			f.root.take(values)
			return
		}
	}
	before := len(f.findings)
	for _, s := range f.statements {
		values := map[string]any{}
		if _, err := toml.Decode(string(f.data[s.text.from:s.text.to]), &values); err != nil {
			s.node.bad = true
			if len(f.findings)-before < maxFindings {
				f.valueFault(s, err)
			}
			continue
		}
		s.take(values)
	}
	if whole != nil && len(f.findings) == before {
		f.valueFault(statement{text: span{0, len(f.data)}, node: f.root}, whole)
	}
}

// take fills in what was decoded of the statement.
func (s statement) take(values map[string]any) {
	var v any = values
	for _, key := range s.keys {
		v = v.(map[string]any)[key]
	}
	s.node.take(v)
}

// take fills in decoded values.
func (n *node) take(v any) {
	switch n.kind {
	case scalar:
		if t, ok := v.(time.Time); ok && !local(t) {
			// the same offset must give the same value on every machine
			_, offset := t.Zone()
			v = t.In(time.FixedZone("", offset))
		}
		n.raw = v
	case table:
		values, _ := v.(map[string]any)
		for i, name := range n.names {
			if child, ok := values[name]; ok {
				n.nodes[i].take(child)
			} else {
				n.nodes[i].bad = true
			}
		}
	case array:
		for i, child := range n.nodes {
			switch items := v.(type) {
			case []any:
				child.take(items[i])
			case []map[string]any:
				child.take(items[i])
			}
		}
	}
}

// The decoder names the zone of a date or time without offset so.
const (
	localDateTime = "datetime-local"
	localDate     = "date-local"
	localTime     = "time-local"
)

func local(t time.Time) bool { return strings.HasSuffix(t.Location().String(), "-local") }

// valueFault reports what the decoder found in a statement whose form is sound.
func (f *File) valueFault(s statement, err error) {
	at, message := s.node.where(), err.Error()
	var parse toml.ParseError
	if errors.As(err, &parse) {
		message = parse.Message
		from := s.text.from + parse.Position.Start
		at = span{from, from + max(1, parse.Position.Len)}
	}
	value := f.source(at)
	switch {
	case strings.Contains(message, "invalid datetime"):
		f.add(at, RuleBadValue, value+" is no date or time of the calendar",
			"write a day as 2027-03-01, a date and time as 2027-08-14T06:00:00-06:00")
	case strings.Contains(message, "out of range"), strings.Contains(message, "out of the safe"):
		f.add(at, RuleOutOfRange, value+" is too large a number", "check the number of digits")
	case strings.Contains(message, "leading zero"):
		f.add(at, RuleSyntax, value+" begins with a zero", "leave out the zero in front; or put it in quotes where text belongs")
	case strings.Contains(message, "nvalid float"), strings.Contains(message, "nvalid integer"):
		f.add(at, RuleSyntax, value+" is not a number", "write digits, with a decimal point where needed")
	case strings.Contains(message, "already been defined"), strings.Contains(message, "already created"):
		f.add(at, RuleDuplicateKey, "a key stands here again", "delete one of them")
	default:
		f.add(at, RuleSyntax, "the value cannot be read", "write text in quotes, a number, true or false, a date, or a list in [ ]")
	}
}
