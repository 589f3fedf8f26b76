package report

import "slotcard/plan/finding"

// CheckedFile is a file of a check, and how that went.
type CheckedFile struct {
	File    string `json:"file"`
	Kind    string `json:"kind,omitempty"`    // plan or load
	Problem string `json:"problem,omitempty"` // why it cannot be read
}

// CheckDocument is the JSON document of a check. Field names stay.
type CheckDocument struct {
	Findings finding.List   `json:"findings"`
	Counts   map[string]int `json:"counts"`
	Files    []CheckedFile  `json:"files"`
	Strict   bool           `json:"strict"`

	Suggestions []Suggestion `json:"suggestions,omitzero"` // with --suggest
}
