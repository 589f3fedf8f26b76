package report

import (
	"errors"

	"slotcard/cmd/internal/files"
	"slotcard/plan/finding"
)

// PrintDocument is the JSON document of print.
type PrintDocument struct {
	File     string         `json:"file"`
	Kind     string         `json:"kind"` // plan or load
	Printed  bool           `json:"printed"`
	Folder   string         `json:"folder"`
	Files    []PrintedFile  `json:"files"`
	Said     []string       `json:"said,omitempty"`    // how to print each
	Earlier  []string       `json:"earlier,omitempty"` // files of an earlier run that still lie there
	Findings finding.List   `json:"findings"`
	Counts   map[string]int `json:"counts"`
	Strict   bool           `json:"strict"`
}

// PrintedFile is a file that print wrote.
type PrintedFile struct {
	File  string `json:"file"`
	Paper string `json:"paper"` // cards, wall, ...
	Kind  string `json:"kind"`  // pdf, picture or csv
}

// FailedDocument is the JSON document of a run that came to no other.
type FailedDocument struct {
	Problems []Problem `json:"problems"`
}

// Problem is what kept a command from its work.
type Problem struct {
	File    string `json:"file,omitempty"`
	Problem string `json:"problem"`
}

// Problems takes an error apart.
func Problems(err error) []Problem {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var all []Problem
		for _, e := range many.Unwrap() {
			all = append(all, Problems(e)...)
		}
		return all
	}
	var file *files.Error
	if errors.As(err, &file) {
		return []Problem{{file.Name, file.Problem}}
	}
	return []Problem{{Problem: err.Error()}}
}
