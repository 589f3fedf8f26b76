// Package schema describes plan, load and station file in JSON Schema 2020-12, for
// editors that complete and check TOML. Start with [Plan], [Load] and [Station].
//
// The Go structs that read the files are the only description of them; their
// tags give keys, required keys and sentences. What depends on several keys at
// once is left to check.
package schema

import (
	"encoding/json"
	"fmt"
	"reflect"
	"time"

	"github.com/invopop/jsonschema"

	"slotcard/plan"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

// Plan is the schema of plan.toml, indented, with a final newline.
func Plan() []byte { return document("incident plan", reflect.TypeFor[plan.Plan]()) }

// Load is the schema of load.toml.
func Load() []byte { return document("load", reflect.TypeFor[plan.Load]()) }

// Station is the schema of station.toml, the file that plans name as their base.
func Station() []byte { return document("station file", reflect.TypeFor[plan.Station]()) }

func document(title string, t reflect.Type) []byte {
	s := of(t, t.Name())
	s.Version = jsonschema.Version
	s.Title = "slotcard " + title
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		panic(fmt.Sprintf("schema: %s: %v", title, err)) // our own structs
	}
	return append(out, '\n')
}

// special are the types that are not what their Go kind says.
var special = map[reflect.Type]func() *jsonschema.Schema{
	reflect.TypeFor[radio.Hertz]():   frequency,
	reflect.TypeFor[radio.Squelch](): squelch,
	reflect.TypeFor[radio.Use]():     func() *jsonschema.Schema { return oneOf(radio.UseNames()) },
	reflect.TypeFor[radio.Mode]():    func() *jsonschema.Schema { return oneOf(radio.ModeNames()) },
	reflect.TypeFor[radio.Width]():   func() *jsonschema.Schema { return oneOf(radio.WidthNames()) },
	reflect.TypeFor[time.Time]():     func() *jsonschema.Schema { return &jsonschema.Schema{Type: "string", Format: "date-time"} },
	reflect.TypeFor[plan.Date]():     func() *jsonschema.Schema { return &jsonschema.Schema{Type: "string", Format: "date"} },
	reflect.TypeFor[plan.Names]():    names,
	reflect.TypeFor[plan.Seats]():    seats,
	reflect.TypeFor[plan.ToneRef]():  func() *jsonschema.Schema { return anyOf(whole(1), squelch()) },
	reflect.TypeFor[plan.Band]():     band,
	reflect.TypeFor[plan.Raster]():   func() *jsonschema.Schema { return oneOf([]string{plan.NoRaster.String()}) },
}

func of(t reflect.Type, where string) *jsonschema.Schema {
	if make, ok := special[t]; ok {
		return make()
	}
	switch t.Kind() {
	case reflect.Pointer:
		return of(t.Elem(), where)
	case reflect.String:
		return &jsonschema.Schema{Type: "string"}
	case reflect.Bool:
		return &jsonschema.Schema{Type: "boolean"}
	case reflect.Int:
		return &jsonschema.Schema{Type: "integer"}
	case reflect.Float64:
		return &jsonschema.Schema{Type: "number"}
	case reflect.Slice:
		return &jsonschema.Schema{Type: "array", Items: of(t.Elem(), where)}
	case reflect.Struct:
		s := &jsonschema.Schema{Type: "object", Properties: jsonschema.NewProperties(), AdditionalProperties: jsonschema.FalseSchema}
		for _, f := range tomlfile.Fields(t) {
			p := of(f.Type, where+"."+f.Key)
			p.Description = f.Doc
			s.Properties.Set(f.Key, p)
			switch {
			case f.Alias != "":
				other := *p
				other.Description, other.Deprecated = "another spelling of "+f.Key, true
				s.Properties.Set(f.Alias, &other)
				s.AllOf = append(s.AllOf, either(f))
			case f.Required:
				s.Required = append(s.Required, f.Key)
			}
		}
		return s
	}
	panic(fmt.Sprintf("schema: %s: no schema for %s", where, t)) // a type that reading does not know either
}

// either asks for one of the spellings of a key where it is required, and for no
// more than one.
func either(f tomlfile.Field) *jsonschema.Schema {
	one, other := &jsonschema.Schema{Required: []string{f.Key}}, &jsonschema.Schema{Required: []string{f.Alias}}
	if f.Required {
		return &jsonschema.Schema{OneOf: []*jsonschema.Schema{one, other}}
	}
	return &jsonschema.Schema{Not: &jsonschema.Schema{AllOf: []*jsonschema.Schema{one, other}}}
}

func frequency() *jsonschema.Schema {
	return anyOf(&jsonschema.Schema{Type: "number", ExclusiveMinimum: "0", Maximum: "1000000"},
		&jsonschema.Schema{Type: "string", Pattern: `^[0-9]+(\.[0-9]{1,6}0*)?$`})
}

func squelch() *jsonschema.Schema {
	return anyOf(&jsonschema.Schema{Type: "number", ExclusiveMinimum: "0", Maximum: "999.9"},
		&jsonschema.Schema{Type: "string", Pattern: `^(D[0-7]{3}I?|N[0-9A-F]{3}|site|-|[0-9]+(\.[0-9])?)$`})
}

func names() *jsonschema.Schema {
	text := &jsonschema.Schema{Type: "string"}
	return anyOf(text, &jsonschema.Schema{Type: "array", Items: text})
}

func seats() *jsonschema.Schema {
	return &jsonschema.Schema{Type: "object", AdditionalProperties: whole(1)}
}

func band() *jsonschema.Schema {
	two := uint64(2)
	return &jsonschema.Schema{Type: "array", Items: frequency(), MinItems: &two, MaxItems: &two}
}

func whole(least int) *jsonschema.Schema {
	return &jsonschema.Schema{Type: "integer", Minimum: json.Number(fmt.Sprint(least))}
}

func anyOf(s ...*jsonschema.Schema) *jsonschema.Schema { return &jsonschema.Schema{AnyOf: s} }

func oneOf(values []string) *jsonschema.Schema {
	s := &jsonschema.Schema{Type: "string"}
	for _, v := range values {
		s.Enum = append(s.Enum, v)
	}
	return s
}
