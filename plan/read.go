package plan

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// Options say how files are read.
type Options struct {
	// ReadFile reads a whole file. It should bound the size: what is larger than
	// [tomlfile.MaxSize] is refused in any case.
	ReadFile func(name string) ([]byte, error)
	// Prints tells whether the paper's typeface has a character; nil: all.
	Prints func(rune) bool
}

// Rules that the values of a load or plan can break, beside those of
// [tomlfile]; all of them errors.
const (
	RuleDuplicate       = "duplicate"              // a number or name that must be unique stands twice
	RuleEmptyText       = "empty-text"             // a text that is needed is empty
	RuleEmptyList       = "empty-list"             // a list that needs an item has none
	RuleDisplayName     = "display-name"           // a display name that no radio shows as written
	RuleUnprintable     = "unprintable-character"  // a character that paper cannot show
	RuleLookAlike       = "look-alike"             // a letter of another script in place of a Latin one
	RuleASCII           = "ascii-only"             // text of the scanned list beyond printable ASCII
	RuleDivisionID      = "division-id"            // an id that a list text cannot hold
	RuleCoordinates     = "coordinates"            // latitude without longitude
	RuleLoadDates       = "load-dates"             // a load that expires before it is effective
	RuleSiteTone        = "site-tone"              // "site" where a tone is needed
	RuleTalkgroup       = "talkgroup"              // system without talkgroup, or with frequencies
	RuleUnknownTone     = "unknown-tone"           // a numbered tone that the load does not have
	RuleUnknownChannel  = "unknown-channel"        // a site's channel that the load does not have
	RuleSlotChannel     = "slot-channel"           // not exactly one way of naming the channel
	RuleSiteOrTone      = "site-or-tone"           // both
	RuleBesideDivision  = "beside-functional-only" // beside on a line division
	RuleLoadPath        = "load-path"              // an absolute path
	RuleWrongFile       = "wrong-file"             // a plan for a load, or a load for a plan
	RuleCarrierSquelch  = "carrier-squelch"        // "-" written in a load
	RuleReceiveTransmit = "tx-without-rx"          // a transmit frequency alone
	RuleElevation       = "elevation-twice"        // in meters and in feet
	RuleBrace           = "unknown-name-in-text"   // a name in braces that means nothing, or a brace that is not closed
	RuleRevision        = "revision"               // a revision without its time, or a time that cannot be
)

// Kind is what a file is.
type Kind uint8

const (
	PlanFile    Kind = iota // names a load, or has [incident] or [[slot]]; anything unclear
	LoadFile                // has a [load] table, or groups
	StationFile             // has nothing but what plans of a station have in common
)

func (k Kind) String() string { return [...]string{"plan", "load", "station file"}[k] }

// KindOf tells what a file is by the keys at its top.
func KindOf(data []byte) Kind { return kindOf(tomlfile.Top(data)) }

// OwnFile tells whether a file is a plan, a load or a station file, and which, rather than
// a sheet of somebody else's: by its tables, or by a name that ends in .toml.
func OwnFile(name string, data []byte) (Kind, bool) {
	top := tomlfile.Top(data)
	kind := kindOf(top)
	return kind, kind != PlanFile || top["incident"] || top["slot"] || strings.EqualFold(filepath.Ext(name), ".toml")
}

// IsLoad tells a load from the files of a plan.
func IsLoad(data []byte) bool { return KindOf(data) == LoadFile }

func kindOf(top map[string]bool) Kind {
	has := func(keys ...string) bool {
		return slices.ContainsFunc(keys, func(key string) bool { return hasKey(top, key) })
	}
	isTable, named := top["load"]
	switch {
	case isTable, !named && has("group", "radio", "site", "tone") && !has("incident", "slot", "division", "position", "unit"):
		return LoadFile
	case !named && !has("base", "incident", "slot", "division") && has("position", "unit", "also", "card", "stock", "accept"):
		return StationFile
	}
	return PlanFile
}

// ReadLoad reads a load and checks every value of it. The error says that the
// file cannot be read at all; all else is in the findings. With findings of
// severity error the load is filled as far as it could be read.
func ReadLoad(name string, o Options) (*Load, finding.List, error) {
	load, _, found, err := readLoad(name, o)
	return load, found, err
}

// content is what a file that should be a load holds.
type content uint8

const (
	holdsLoad    content = iota
	holdsPlan            // or a station file
	holdsNeither         // or not enough of a load to tell
)

func readLoad(name string, o Options) (*Load, content, finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, holdsNeither, nil, fmt.Errorf("the load %s cannot be read: %w", name, err)
	}
	load := new(Load)
	file, faults := tomlfile.Decode(name, data, load)
	holds := holdsLoad
	top := file.Top()
	switch kind := kindOf(top); {
	case kind == LoadFile:
		if !looksLikeLoad(top) {
			holds = holdsNeither
		}
	case kind == StationFile, hasKey(top, "incident"):
		return new(Load), holdsPlan, wrongFile(name, kind, "a load", helpLoad), nil
	default:
		holds = holdsNeither
	}
	r := reader{options: o, findings: faults, broken: file.Doubtful(), file: file}
	r.load(load)
	r.findings.Sort()
	return load, holds, r.findings, nil
}

// looksLikeLoad tells whether enough of a load is there to be sure of it: somebody
// else's file may have a table of that name, too.
func looksLikeLoad(top map[string]bool) bool {
	n := 0
	for _, key := range []string{"load", "radio", "group"} {
		if top[key] {
			n++
		}
	}
	return n > 1
}

// ErrStation marks an error about the station file that a plan names as its base.
var ErrStation = errors.New("the station file cannot be read")

// ReadStation reads a station file and checks every value of it. What its tables
// name in a plan is looked up where a plan has it as its base. The error says
// that the file cannot be read at all.
func ReadStation(name string, o Options) (*Station, finding.List, error) {
	s, _, found, err := readStation(name, o)
	return s, found, err
}

func readStation(name string, o Options) (*Station, Kind, finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, PlanFile, nil, fmt.Errorf("%w: %s: %w", ErrStation, name, err)
	}
	s := &Station{Path: name}
	file, faults := tomlfile.Decode(name, data, s)
	top := file.Top()
	if kind := kindOf(top); kind == LoadFile || kind == PlanFile && (hasKey(top, "incident") || hasKey(top, "slot")) {
		return &Station{Path: name}, kind, wrongFile(name, kind, "a station file", helpStation), nil
	}
	r := reader{options: o, findings: faults, broken: file.Doubtful(), file: file}
	r.station(s)
	r.findings.Sort()
	return s, StationFile, r.findings, nil
}

// Read reads a plan, the station file that is its base, and the load that it
// names, and checks every value of them. The error says that one of the files
// cannot be read at all ([ErrStation]: the station file); where it is not the
// plan, the plan and its findings are there nevertheless. With findings of
// severity error plan and load are filled as far as they could be read.
func Read(name string, o Options) (*Plan, *Load, finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("the plan %s cannot be read: %w", name, err)
	}
	p := &Plan{Path: name}
	file, faults := tomlfile.Decode(name, data, p)
	if kind := kindOf(file.Top()); kind != PlanFile {
		help := helpPlan
		if kind == StationFile {
			help = "name the plan that has this file as its base"
		}
		return &Plan{Path: name}, nil, wrongFile(name, kind, "a plan", help), nil
	}
	r := reader{options: o, findings: faults, broken: file.Doubtful(), file: file}
	r.plan(p)
	stationErr := r.base(p)
	load, err := r.loadOf(p)
	r.toneNumbers(p, load)
	r.findings.Sort()
	return p, load, r.findings, cmp.Or(stationErr, err)
}

// beside is the path of a file that the plan names under key; "" where it has
// none, or one that cannot be.
func (r *reader) beside(p *Plan, key, path, sample string) string {
	if path == "" {
		return ""
	}
	local := filepath.FromSlash(path)
	if filepath.IsAbs(local) || strings.HasPrefix(path, "/") {
		r.fault(p.At(key), RuleLoadPath, "", key+" is an absolute path, which no other machine has",
			fmt.Sprintf("write the path relative to the plan, such as %s or ../%s", sample, sample))
		return ""
	}
	local = filepath.Join(filepath.Dir(p.Path), local)
	if local == "-" { // a file of that name, not standard input
		local = "." + string(filepath.Separator) + local
	}
	return local
}

// base reads the station file of the plan, and takes from it what the plan does
// not have itself.
func (r *reader) base(p *Plan) error {
	path := r.beside(p, "base", p.Base, "station.toml")
	if path == "" {
		return nil
	}
	station, kind, faults, err := readStation(path, r.options)
	switch {
	case err != nil:
		return err
	case kind != StationFile:
		r.fault(p.At("base"), RuleWrongFile, "", fmt.Sprintf("%s is a %s, not a station file", shortPath(p.Base), kind), helpStation)
		return nil
	}
	r.findings.Add(faults...)
	p.Station = station
	take(p, "position", &p.Positions, station.Positions)
	take(p, "unit", &p.Units, station.Units)
	take(p, "also", &p.Also, station.Also)
	take(p, "accept", &p.Accepts, station.Accepts)
	take(p, "card", &p.Card, station.Card)
	take(p, "stock", &p.Stock, station.Stock)
	return nil
}

// take puts the station's tables in place of those that the plan has not written.
func take[T any](p *Plan, key string, own *T, station T) {
	if !p.Has(key) {
		*own = station
	}
}

// loadOf reads the load that the plan names; nil where there is none to be had.
func (r *reader) loadOf(p *Plan) (*Load, error) {
	path := r.beside(p, "load", p.Load, "load.toml")
	if path == "" {
		return nil, nil
	}
	load, holds, faults, err := readLoad(path, r.options)
	switch {
	case err != nil:
		return nil, err
	case holds == holdsPlan:
		r.fault(p.At("load"), RuleWrongFile, "", fmt.Sprintf("%s is a plan, not a load", shortPath(p.Load)), helpLoad)
		return load, nil
	case holds == holdsNeither:
		// Whoever wrote the plan chose the file: nothing out of it is shown.
		r.fault(p.At("load"), RuleWrongFile, "", fmt.Sprintf("%s is no load: at most one of [load], [radio] and [[group]] is in it", shortPath(p.Load)), helpLoad)
		return nil, nil
	}
	r.findings.Add(faults...)
	return load, nil
}

// shortPath is as much of a path as a message has room for.
func shortPath(path string) string {
	if r := []rune(path); len(r) > 100 {
		return string(r[:100]) + "…"
	}
	return path
}

func hasKey(top map[string]bool, key string) bool { _, ok := top[key]; return ok }

// How to tell the kinds of file apart.
const (
	helpLoad    = "name the file that holds [load], [radio] and [[group]]"
	helpPlan    = "name the file that holds [incident] and [[slot]]"
	helpStation = "name a file that holds nothing but [[unit]], [[position]], [[also]], [[accept]], [card] and [stock]"
)

func wrongFile(name string, is Kind, wanted, help string) finding.List {
	return finding.List{{
		Rule: RuleWrongFile, Severity: finding.Error, Place: finding.Place{File: name},
		Message: "this file is a " + is.String() + ", not " + wanted, Help: []string{help},
	}}
}

// reader collects what is wrong with the values of a file.
type reader struct {
	options  Options
	findings finding.List
	broken   bool // lines could not be read: what seems absent may not be
	file     *tomlfile.File
}

func (r *reader) fault(at finding.Place, rule, subject, message string, help ...string) *finding.Finding {
	if len(r.findings) >= 2*tomlfile.MaxTotal { // what nobody reads to the end
		return new(finding.Finding)
	}
	r.findings.Add(finding.Finding{Rule: rule, Severity: finding.Error, Place: at, Subject: subject, Message: message, Help: help})
	return &r.findings[len(r.findings)-1]
}

// unless is what to do where nothing shall be deleted.
func unless(title string) finding.Edit { return finding.Edit{Title: title} }

// unique reports names or numbers that stand twice.
type unique struct {
	what string // "display name", "tone number"
	seen map[string]finding.Place
}

func newUnique(what string) *unique { return &unique{what, map[string]finding.Place{}} }

// add gives the finding, nil where the name is new.
func (u *unique) add(r *reader, key, written string, at finding.Place) *finding.Finding {
	first, twice := u.seen[key]
	if !twice {
		u.seen[key] = at
		return nil
	}
	f := r.fault(at, RuleDuplicate, written, fmt.Sprintf("%s %s stands twice; first in line %d", u.what, written, first.Line),
		"change or delete one of them")
	f.Related = []finding.Related{{Place: first, Message: u.what + " " + written + " stands here first"}}
	return f
}
