// Package schema describes plan, load and station file in JSON Schema 2020-12, for
// editors that complete and check TOML. Start with [Plan], [Load] and [Station].
//
// The Go structs that read the files are the only description of them; their
// tags give keys, required keys and sentences; bounds, and keys that stand together,
// are listed here. What depends on several tables is left to check.
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
			limit(p, t, f.Key)
			name(p, t, f.Key)
		}
		if add := together[t]; add != nil {
			add(s)
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

// limits are the bounds of numbers, as reading has them: a test tries each on both.
var limits = map[reflect.Type]map[string][2]float64{
	reflect.TypeFor[plan.Radio]():       {"list_positions": {1, 1000}, "name_length": {1, 64}},
	reflect.TypeFor[plan.Tone]():        {"number": {1, 9999}},
	reflect.TypeFor[plan.Site]():        {"latitude": {-90, 90}, "longitude": {-180, 180}, "elevation_m": {-500, 9000}, "elevation_ft": {-1640, 29527}},
	reflect.TypeFor[plan.Group]():       {"number": {1, 9999}},
	reflect.TypeFor[plan.Channel]():     {"number": {1, 9999}},
	reflect.TypeFor[plan.Incident]():    {"period": {1, 9999}, "revision": {plan.FirstRevision, 9999}, "latitude": {-90, 90}, "longitude": {-180, 180}, "elevation_m": {-500, 9000}, "elevation_ft": {-1640, 29527}},
	reflect.TypeFor[plan.Slot]():        {"group": {1, 9999}, "number": {1, 9999}, "tone": {1, 9999}},
	reflect.TypeFor[plan.Also]():        {"group": {1, 9999}, "number": {1, 9999}, "tone": {1, 9999}},
	reflect.TypeFor[plan.CardOptions](): {"scan_limit": {1, 1000}, "edge": {3, 15}, "gap": {0, 50}, "dpi": {150, 1200}},
	reflect.TypeFor[plan.Stock](): {"width": {1, 600}, "height": {1, 600}, "left": {0, 600}, "top": {0, 600}, "gutter_x": {0, 600}, "gutter_y": {0, 600},
		"columns": {1, 50}, "rows": {1, 50}},
}

func limit(p *jsonschema.Schema, t reflect.Type, key string) {
	if of, ok := limits[t][key]; ok {
		p.Minimum, p.Maximum = json.Number(fmt.Sprint(of[0])), json.Number(fmt.Sprint(of[1]))
	}
}

// only are the values of texts that have no other, and among those of texts that may be
// something else as well. What paper and printer know is not known here: a test of the
// command holds the two to each other.
var (
	only = map[reflect.Type]map[string][]string{
		reflect.TypeFor[plan.CardOptions](): {"sides": {"long", "short", "fold", "front", "each"}, "order": {"sheet", "stack"}, "language": {"en", "es", "fr"}},
	}
	among = map[reflect.Type]map[string][]string{
		reflect.TypeFor[plan.CardOptions](): {"size": {"business", "id-1", "96x62", "a7", "index-3x5", "index-4x6", "a6"}, "paper": {"letter", "a4", "legal", "tabloid", "a3", "a2"}},
		reflect.TypeFor[plan.Position]():    {"priority": plan.SelectorWords(), "scan": plan.SelectorWords()},
	}
)

func name(p *jsonschema.Schema, t reflect.Type, key string) {
	if values := only[t][key]; values != nil {
		p.Enum = oneOf(values).Enum
	}
	if values := among[t][key]; values != nil {
		text := anyOf(oneOf(values), &jsonschema.Schema{Type: "string"})
		if p.Type == "string" {
			p.Type, p.AnyOf = "", text.AnyOf
			return
		}
		p.AnyOf = []*jsonschema.Schema{text, {Type: "array", Items: text}} // as names has them
	}
}

// together are the keys of a table that stand together, or not together.
var together = map[reflect.Type]func(*jsonschema.Schema){
	reflect.TypeFor[plan.Slot](): picked,
	reflect.TypeFor[plan.Also](): picked,
	reflect.TypeFor[plan.Site](): located,
	reflect.TypeFor[plan.Incident](): func(s *jsonschema.Schema) {
		located(s)
		s.DependentRequired["revision"], s.DependentRequired["revised_at"] = []string{"revised_at"}, []string{"revision"}
	},
	reflect.TypeFor[plan.Channel](): func(s *jsonschema.Schema) {
		s.OneOf = []*jsonschema.Schema{needs("rx"), needs("system", "talkgroup")}
		s.DependentRequired = map[string][]string{"tx": {"rx"}, "system": {"talkgroup"}, "talkgroup": {"system"}}
	},
}

func needs(keys ...string) *jsonschema.Schema { return &jsonschema.Schema{Required: keys} }

func notBoth(a, b string) *jsonschema.Schema { return &jsonschema.Schema{Not: needs(a, b)} }

// picked are the ways of naming a channel, of which there is one.
func picked(s *jsonschema.Schema) {
	s.OneOf = []*jsonschema.Schema{needs("channel"), needs("group", "number"), needs("rx")}
	s.AllOf = append(s.AllOf, notBoth("site", "tone"))
	s.DependentRequired = map[string][]string{"group": {"number"}, "number": {"group"}, "tx": {"rx"}, "rx_tone": {"rx"}, "tx_tone": {"rx"}}
}

func located(s *jsonschema.Schema) {
	s.AllOf = append(s.AllOf, notBoth("elevation_m", "elevation_ft"))
	s.DependentRequired = map[string][]string{"latitude": {"longitude"}, "longitude": {"latitude"}}
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
