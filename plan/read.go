package plan

import (
	"fmt"
	"path/filepath"
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
)

// IsLoad tells a load from a plan: a load has a [load] table, where a plan names
// a file.
func IsLoad(data []byte) bool {
	return isLoad(tomlfile.Top(data))
}

func isLoad(top map[string]bool) bool {
	if isTable, ok := top["load"]; ok {
		return isTable
	}
	has := func(keys ...string) bool {
		for _, key := range keys {
			if _, ok := top[key]; ok {
				return true
			}
		}
		return false
	}
	return has("group", "radio", "site", "tone") && !has("incident", "slot", "division", "position", "unit")
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
	holdsLoad content = iota
	holdsPlan
	holdsNeither // or not enough of a load to tell
)

func readLoad(name string, o Options) (*Load, content, finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, holdsNeither, nil, fmt.Errorf("the load %s cannot be read: %w", name, err)
	}
	load := new(Load)
	file, faults := tomlfile.Decode(name, data, load)
	holds := holdsLoad
	if top := file.Top(); !isLoad(top) {
		if hasKey(top, "incident") {
			return new(Load), holdsPlan, wrongFile(name, "a plan", "a load", helpLoad), nil
		}
		holds = holdsNeither
	}
	r := reader{options: o, findings: faults, broken: file.Broken()}
	r.load(load)
	r.findings.Sort()
	return load, holds, r.findings, nil
}

// Read reads a plan and the load that it names, and checks every value of both.
// The error says that one of the files cannot be read at all; where it is the
// load, the plan and its findings are there nevertheless. With findings of
// severity error plan and load are filled as far as they could be read.
func Read(name string, o Options) (*Plan, *Load, finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("the plan %s cannot be read: %w", name, err)
	}
	p := &Plan{Path: name}
	file, faults := tomlfile.Decode(name, data, p)
	if isLoad(file.Top()) {
		return &Plan{Path: name}, nil, wrongFile(name, "a load", "a plan", helpPlan), nil
	}
	r := reader{options: o, findings: faults, broken: file.Broken()}
	r.plan(p)
	var load *Load
	if p.Load != "" {
		if path := filepath.FromSlash(p.Load); filepath.IsAbs(path) || strings.HasPrefix(p.Load, "/") {
			r.fault(p.At("load"), RuleLoadPath, "", "load is an absolute path, which no other machine has",
				"write the path relative to the plan, such as load.toml or ../load.toml")
		} else {
			var holds content
			var loadFaults finding.List
			path = filepath.Join(filepath.Dir(name), path)
			if path == "-" { // a file of that name, not standard input
				path = "." + string(filepath.Separator) + path
			}
			load, holds, loadFaults, err = readLoad(path, o)
			switch {
			case err != nil:
			case holds == holdsPlan:
				r.fault(p.At("load"), RuleWrongFile, "", fmt.Sprintf("%s is a plan, not a load", p.Load), helpLoad)
			case holds == holdsNeither:
				// Whoever wrote the plan chose the file: nothing out of it is shown.
				load = nil
				r.fault(p.At("load"), RuleWrongFile, "", fmt.Sprintf("%s is no load: nothing of [load], [radio] or [[group]] is in it", p.Load), helpLoad)
			default:
				r.findings.Add(loadFaults...)
			}
		}
	}
	r.findings.Sort()
	return p, load, r.findings, err
}

func hasKey(top map[string]bool, key string) bool { _, ok := top[key]; return ok }

// How to tell the two kinds of file apart.
const (
	helpLoad = "name the file that holds [load], [radio] and [[group]]"
	helpPlan = "name the file that holds [incident] and [[slot]]"
)

func wrongFile(name, is, wanted, help string) finding.List {
	return finding.List{{
		Rule: RuleWrongFile, Severity: finding.Error, Place: finding.Place{File: name},
		Message: "this file is " + is + ", not " + wanted, Help: []string{help},
	}}
}

// reader collects what is wrong with the values of a file.
type reader struct {
	options  Options
	findings finding.List
	broken   bool // lines could not be read: what seems absent may not be
}

func (r *reader) fault(at finding.Place, rule, subject, message string, help ...string) *finding.Finding {
	if len(r.findings) >= 2*tomlfile.MaxTotal { // what nobody reads to the end
		return new(finding.Finding)
	}
	r.findings.Add(finding.Finding{Rule: rule, Severity: finding.Error, Place: at, Subject: subject, Message: message, Help: help})
	return &r.findings[len(r.findings)-1]
}

// unique reports names or numbers that stand twice.
type unique struct {
	what string // "display name", "tone number"
	seen map[string]finding.Place
}

func newUnique(what string) *unique { return &unique{what, map[string]finding.Place{}} }

func (u *unique) add(r *reader, key, written string, at finding.Place) {
	first, twice := u.seen[key]
	if !twice {
		u.seen[key] = at
		return
	}
	f := r.fault(at, RuleDuplicate, written, fmt.Sprintf("%s %s stands twice; first in line %d", u.what, written, first.Line),
		"change or delete one of them")
	f.Related = []finding.Related{{Place: first, Message: u.what + " " + written + " stands here first"}}
}
