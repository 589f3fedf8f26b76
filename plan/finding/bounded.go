package finding

import (
	"encoding/json"
	"fmt"
	"unicode/utf8"
)

// mostShown bounds, in characters, what is shown of a message, a line of help and
// each fact: a file may hold a name of a megabyte, and nobody reads it twice.
const mostShown = 600

// mostEdit bounds, in bytes, the text that an edit of a document holds. A longer one
// is left out; The desk and check --fix make it all the same.
const mostEdit = 16 << 10

// Bounded is the finding as it is shown: the same, where no text in it is longer
// than anybody reads.
func (f Finding) Bounded() Finding {
	f.Message, f.Subject, f.Value, f.Place.File = bounded(f.Message), bounded(f.Subject), bounded(f.Value), bounded(f.Place.File)
	f.Help, f.Details = boundedAll(f.Help), boundedAll(f.Details)
	for i, r := range f.Related {
		if s := bounded(r.Message); s != r.Message {
			f.Related = append([]Related{}, f.Related...)
			f.Related[i].Message = s
		}
	}
	f.Data, _ = boundedData(f.Data).(map[string]any)
	var edits []Edit
	for i, e := range f.Edits {
		size := len(e.Title)
		for _, c := range e.Changes {
			size += len(c.Old) + len(c.New)
		}
		switch {
		case size > mostEdit && edits == nil:
			edits = append([]Edit{}, f.Edits[:i]...)
		case size <= mostEdit && edits != nil:
			edits = append(edits, e)
		}
	}
	if edits != nil {
		f.Edits = edits
	}
	return f
}

// MarshalJSON writes the finding as it is shown.
func (f Finding) MarshalJSON() ([]byte, error) {
	type plain Finding
	return json.Marshal(plain(f.Bounded()))
}

// bounded is a text, or its beginning and its end and how long it is.
func bounded(s string) string {
	if len(s) <= mostShown {
		return s
	}
	n := utf8.RuneCountInString(s)
	if n <= mostShown {
		return s
	}
	r := []rune(s)
	return fmt.Sprintf("%s … (%d characters) … %s", string(r[:mostShown/2]), n, string(r[n-mostShown/4:]))
}

func boundedAll(all []string) []string {
	for i, s := range all {
		if b := bounded(s); b != s {
			out := append([]string{}, all...)
			for k := i; k < len(out); k++ {
				out[k] = bounded(out[k])
			}
			return out
		}
	}
	return all
}

// boundedData is a fact in which every text is bounded; what holds none stays as it is.
func boundedData(v any) any {
	switch v := v.(type) {
	case string:
		return bounded(v)
	case []string:
		return boundedAll(v)
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = boundedData(v[i])
		}
		return out
	case []map[string]any:
		out := make([]map[string]any, len(v))
		for i := range v {
			out[i], _ = boundedData(v[i]).(map[string]any)
		}
		return out
	case map[string]any:
		if v == nil {
			return v
		}
		out := make(map[string]any, len(v))
		for k, x := range v {
			out[bounded(k)] = boundedData(x)
		}
		return out
	}
	return v
}
