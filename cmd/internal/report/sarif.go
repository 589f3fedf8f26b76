package report

import (
	"net/url"
	"path/filepath"
	"strings"

	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// Findings in SARIF 2.1.0 (OASIS), so that a code host shows them at their
// lines. Only what that format asks for is written; a test validates it against
// the published schema.

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool struct {
		Driver sarifDriver `json:"driver"`
	} `json:"tool"`
	// Invocations is the one run of the program, and whether it could read everything.
	Invocations []sarifInvocation `json:"invocations"`

	ColumnKind string        `json:"columnKind"`
	Results    []sarifResult `json:"results"`
}

type sarifInvocation struct {
	Successful    bool                `json:"executionSuccessful"`
	Notifications []sarifNotification `json:"toolExecutionNotifications,omitempty"`
}

type sarifNotification struct {
	Level     string          `json:"level"`
	Message   sarifMessage    `json:"message"`
	Locations []sarifLocation `json:"locations,omitempty"`
}

type sarifDriver struct {
	Name  string      `json:"name"`
	Rules []sarifRule `json:"rules"`
}

type sarifRule struct {
	ID      string       `json:"id"`
	Short   sarifMessage `json:"shortDescription"`
	Full    sarifMessage `json:"fullDescription"`
	Help    sarifMessage `json:"help"`
	Default struct {
		Level string `json:"level"`
	} `json:"defaultConfiguration"`
}

type sarifMessage struct {
	Text string `json:"text"`
}

type sarifResult struct {
	RuleID    string          `json:"ruleId"`
	RuleIndex int             `json:"ruleIndex"`
	Level     string          `json:"level"`
	Message   sarifMessage    `json:"message"`
	Locations []sarifLocation `json:"locations"`
	Related   []sarifLocation `json:"relatedLocations,omitempty"`
	Fixes     []sarifFix      `json:"fixes,omitempty"`
}

// sarifFix is an edit that a finding offers.
type sarifFix struct {
	Description sarifMessage  `json:"description"`
	Changes     []sarifChange `json:"artifactChanges"`
}

type sarifChange struct {
	Artifact     sarifArtifact      `json:"artifactLocation"`
	Replacements []sarifReplacement `json:"replacements"`
}

type sarifReplacement struct {
	Deleted  sarifRegion   `json:"deletedRegion"`
	Inserted *sarifMessage `json:"insertedContent,omitempty"`
}

type sarifArtifact struct {
	URI string `json:"uri"`
}

type sarifLocation struct {
	Physical struct {
		Artifact sarifArtifact `json:"artifactLocation"`
		Region   *sarifRegion  `json:"region,omitempty"`
	} `json:"physicalLocation"`
	Message *sarifMessage `json:"message,omitempty"`
}

type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine,omitempty"`
	EndColumn   int `json:"endColumn,omitempty"`
}

// sarifLevels by severity.
var sarifLevels = map[finding.Severity]string{
	finding.Note: "note", finding.Advice: "note", finding.Warning: "warning", finding.Error: "error",
}

// SARIF is a log of findings, and of what kept files from being read.
func SARIF(found finding.List, unreadable []error) any {
	run := sarifRun{ColumnKind: "unicodeCodePoints", Results: []sarifResult{}}
	run.Tool.Driver.Name = "slotcard"
	once := sarifInvocation{Successful: len(unreadable) == 0}
	for _, err := range unreadable {
		for _, p := range Problems(err) {
			n := sarifNotification{Level: "error", Message: sarifMessage{p.Problem}}
			if p.File != "" {
				n.Locations = []sarifLocation{sarifAt(finding.Place{File: p.File})}
			}
			once.Notifications = append(once.Notifications, n)
		}
	}
	run.Invocations = []sarifInvocation{once}
	index := map[string]int{}
	for i, r := range rules.All() {
		index[r.ID] = i
		rule := sarifRule{ID: r.ID, Short: sarifMessage{r.Statement}, Full: sarifMessage{r.Why}, Help: sarifMessage{r.Fix}}
		rule.Default.Level = sarifLevels[r.Severity]
		run.Tool.Driver.Rules = append(run.Tool.Driver.Rules, rule)
	}
	for _, f := range found {
		text := f.Message
		if len(f.Help) > 0 {
			text += "\n" + strings.Join(f.Help, "\n")
		}
		result := sarifResult{RuleID: f.Rule, RuleIndex: index[f.Rule], Level: sarifLevels[f.Severity],
			Message: sarifMessage{text}, Locations: []sarifLocation{sarifAt(f.Place)}}
		for _, r := range f.Related {
			at := sarifAt(r.Place)
			at.Message = &sarifMessage{r.Message}
			result.Related = append(result.Related, at)
		}
		for _, e := range f.Edits {
			result.Fixes = append(result.Fixes, sarifFixOf(e))
		}
		run.Results = append(run.Results, result)
	}
	return sarifLog{Schema: "https://json.schemastore.org/sarif-2.1.0.json", Version: "2.1.0", Runs: []sarifRun{run}}
}

func sarifURI(file string) sarifArtifact {
	return sarifArtifact{(&url.URL{Path: filepath.ToSlash(file)}).EscapedPath()}
}

// sarifFixOf is an edit, its changes by file in the order in which they stand there.
func sarifFixOf(e finding.Edit) sarifFix {
	fix := sarifFix{Description: sarifMessage{e.Title}}
	for i, c := range e.Changes {
		if i == 0 || c.File != e.Changes[i-1].File {
			fix.Changes = append(fix.Changes, sarifChange{Artifact: sarifURI(c.File)})
		}
		r := sarifReplacement{Deleted: sarifRegion{StartLine: c.From.Line, StartColumn: c.From.Column, EndLine: c.To.Line, EndColumn: c.To.Column}}
		if c.New != "" {
			r.Inserted = &sarifMessage{c.New}
		}
		last := &fix.Changes[len(fix.Changes)-1]
		last.Replacements = append(last.Replacements, r)
	}
	return fix
}

func sarifAt(p finding.Place) (l sarifLocation) {
	l.Physical.Artifact = sarifURI(p.File)
	if p.Line > 0 {
		l.Physical.Region = &sarifRegion{StartLine: p.Line, StartColumn: p.Column, EndColumn: p.Column + max(p.Length, 1)}
	}
	return l
}
