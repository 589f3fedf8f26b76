package desk

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

func init() {
	register(&View{Name: "incident", Title: "Incident", Place: 2, Kinds: []string{"plan"}, Data: incidentData,
		Do: map[string]func(*Page) (string, error){"set": setIncident}})
}

// IncidentForm is what the plan says about the incident, each key a field.
type IncidentForm struct {
	Sections []IncidentSection
	Found    []RowFinding // about the table as a whole
}

// IncidentSection is fields that belong together.
type IncidentSection struct {
	Title  string
	Fields []IncidentField
}

// IncidentField is a key of the incident.
type IncidentField struct {
	Key, Title, Kind string // kinds: text, lines, whole, degrees, box, time
	Required         bool
	Was, WasOffset   string // as the file says it
	Value, Offset    string // the same, or what was typed and refused
	Found            []RowFinding
}

// incidentFields are the fields in the order of the page.
var incidentFields = []IncidentSection{
	{"The fire", []IncidentField{
		{Key: "name", Title: "Name", Kind: "text"}, {Key: "number", Title: "Number", Kind: "text"},
		{Key: "aircraft", Title: "Aircraft work the fire", Kind: "box"}, {Key: "exercise", Title: "It is an exercise", Kind: "box"},
	}},
	{"The operational period", []IncidentField{
		{Key: "period", Title: "Period", Kind: "whole"}, {Key: "from", Title: "From", Kind: "time"}, {Key: "to", Title: "To", Kind: "time"},
		{Key: "revision", Title: "Revision within the period", Kind: "whole"}, {Key: "revised_at", Title: "Revised at", Kind: "time"},
	}},
	{"Who prepared it", []IncidentField{
		{Key: "prepared_by", Title: "Prepared by, with position", Kind: "text"}, {Key: "prepared_at", Title: "Prepared at", Kind: "time"},
		{Key: "contact", Title: "Contact", Kind: "text"},
	}},
	{"Where it is", []IncidentField{
		{Key: "latitude", Title: "Latitude", Kind: "degrees"}, {Key: "longitude", Title: "Longitude", Kind: "degrees"},
		{Key: "elevation_m", Title: "Elevation, meters", Kind: "degrees"}, {Key: "elevation_ft", Title: "Elevation, feet", Kind: "degrees"},
	}},
	{"For everybody to read", []IncidentField{{Key: "instructions", Title: "Special instructions", Kind: "lines"}}},
}

// incidentType is what the file has under [incident].
var incidentType = reflect.TypeFor[plan.Incident]()

// saidOf is a key of the incident as a field shows it.
func saidOf(in *plan.Incident, key string) (value, offset string) {
	number := func(f *float64) string {
		if f == nil {
			return ""
		}
		return strconv.FormatFloat(*f, 'f', -1, 64)
	}
	whole := func(n int) string {
		if !in.Has(key) {
			return ""
		}
		return strconv.Itoa(n)
	}
	box := func(b bool) string {
		if b {
			return "1"
		}
		return ""
	}
	clock := func(t time.Time) (string, string) {
		if t.IsZero() {
			return "", ""
		}
		return t.Format(typedTime), t.Format("-07:00")
	}
	switch key {
	case "name":
		return in.Name, ""
	case "number":
		return in.Number, ""
	case "exercise":
		return box(in.Exercise), ""
	case "aircraft":
		return box(in.Aircraft), ""
	case "period":
		return whole(in.Period), ""
	case "revision":
		return whole(in.Revision), ""
	case "from":
		return clock(in.From)
	case "to":
		return clock(in.To)
	case "revised_at":
		return clock(in.RevisedAt)
	case "prepared_at":
		return clock(in.PreparedAt)
	case "prepared_by":
		return in.PreparedBy, ""
	case "contact":
		return in.Contact, ""
	case "instructions":
		return in.Instructions, ""
	case "latitude":
		return number(in.Latitude), ""
	case "longitude":
		return number(in.Longitude), ""
	case "elevation_m":
		return number(in.Elevation), ""
	case "elevation_ft":
		return number(in.ElevationFt), ""
	}
	panic("the page has no key " + key + " of the incident")
}

func incidentData(p *Page) (any, error) {
	w, err := p.work()
	if err != nil {
		return nil, err
	}
	in := &w.Plan().Incident
	v := new(IncidentForm)
	rest := p.findingsAt(in.At("").Line)
	for _, s := range incidentFields {
		s.Fields = slices.Clone(s.Fields)
		for i := range s.Fields {
			f := &s.Fields[i]
			f.Was, f.WasOffset = saidOf(in, f.Key)
			if f.Value, f.Offset = f.Was, f.WasOffset; f.Offset == "" {
				f.Offset = in.From.Format("-07:00")
			}
			if p.Failed != "" {
				f.Value, f.Offset = p.Ask(f.Key), p.Ask(f.Key+"_offset")
			}
			for _, field := range tomlfile.Fields(incidentType) {
				f.Required = f.Required || field.Key == f.Key && field.Required
			}
			if in.Has(f.Key) {
				f.Found = p.findingsOn(in.At(f.Key).Line)
				rest = slices.DeleteFunc(rest, func(r RowFinding) bool { return slices.Contains(f.Found, r) })
			}
		}
		v.Sections = append(v.Sections, s)
	}
	v.Found = rest
	return v, nil
}

// findingsOn are those that name a line of the plan.
func (p *Page) findingsOn(line int) (out []RowFinding) {
	for n, f := range p.State.Findings {
		here := filepath.ToSlash(f.Place.File) == p.File && f.Place.Line == line
		for _, r := range f.Related {
			here = here || filepath.ToSlash(r.Place.File) == p.File && r.Place.Line == line
		}
		if here {
			out = append(out, RowFinding{f.Severity.String(), f.Message, p.At("findings", "n", n+1)})
		}
	}
	return out
}

// setIncident writes the fields that were changed on the page, and no other. One that
// the file says otherwise than the page showed is an error.
func setIncident(p *Page) (string, error) {
	return "", p.build(func(w *build.Work) error {
		var values tomlfile.Pairs
		for _, s := range incidentFields {
			for _, f := range s.Fields {
				now := strings.TrimSpace(strings.ReplaceAll(p.Ask(f.Key), "\r\n", "\n"))
				was := strings.TrimSpace(strings.ReplaceAll(p.Ask("was_"+f.Key), "\r\n", "\n"))
				offset, wasOffset := strings.TrimSpace(p.Ask(f.Key+"_offset")), p.Ask("was_"+f.Key+"_offset")
				if now == was && (now == "" || offset == wasOffset) {
					continue
				}
				value, zone := saidOf(&w.Plan().Incident, f.Key)
				if strings.TrimSpace(value) != was || zone != wasOffset {
					return errChanged
				}
				set, err := f.typed(now, offset)
				if err != nil {
					return err
				}
				if f.Kind == "box" && now == "" { // the remark behind it stays
					set = edit.Raw("false")
				}
				values = append(values, tomlfile.Pair{Key: f.Key, Value: set})
			}
		}
		return w.SetIncident(values)
	})
}

// typed is the value that was typed into a field; "" removes the key.
func (f *IncidentField) typed(text, offset string) (any, error) {
	switch {
	case f.Kind == "box":
		return text != "", nil
	case text == "" && slices.ContainsFunc(tomlfile.Fields(incidentType), func(k tomlfile.Field) bool { return k.Key == f.Key && k.Required }):
		return nil, fmt.Errorf("%s: a plan must say that", f.Title)
	case text == "":
		return "", nil
	case f.Kind == "whole":
		n, err := strconv.Atoi(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %q is no whole number", f.Title, text)
		}
		return n, nil
	case f.Kind == "degrees":
		n, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return nil, fmt.Errorf("%s: %q is no number, such as 44.1", f.Title, text)
		}
		return n, nil
	case f.Kind == "time":
		t, err := time.Parse(typedTime+"Z07:00", text+offset)
		if err != nil {
			return nil, fmt.Errorf("%s: %q with the offset %q is no time: write day and time, and the offset as -06:00", f.Title, text, offset)
		}
		return edit.Raw(t.Format(time.RFC3339)), nil
	}
	return text, nil
}
