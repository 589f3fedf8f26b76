package desk

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"slotcard/cmd/internal/files"
	"slotcard/plan/finding"
)

func init() {
	register(&View{Name: "file", Title: "The file", Place: 25, Kinds: []string{"plan", "load", "station"}, Data: fileData,
		Do: map[string]func(*Page) (string, error){"save": saveFile}})
}

// FileText is a file as it is written, to be changed by hand.
type FileText struct {
	Text     string // what stands in the box
	Key      string // of the text that it began with
	Rows     int
	Findings []FoundAt
	Not      string // why it cannot be changed here
}

// FoundAt is a finding and where to read more of it.
type FoundAt struct {
	Severity string
	Line     int
	Message  string
	Address  string
}

func fileData(p *Page) (any, error) {
	v := &FileText{Text: string(p.State.Text), Key: textKey(string(p.State.Text))}
	switch {
	case p.State.Kind == "" && len(p.State.Text) == 0 && p.State.Problem != "":
		v.Not = p.State.Problem
	case !utf8.Valid(p.State.Text):
		v.Not = "the file holds bytes that are no UTF-8, which this page would change: save it as UTF-8 in an editor"
	}
	if p.Failed != "" { // what was typed is not lost
		v.Text, v.Key = p.Ask("text"), p.Ask("key")
	}
	v.Rows = min(max(strings.Count(v.Text, "\n")+2, 12), 40)
	for i, f := range p.State.Findings {
		if f.Severity < finding.Error && len(v.Findings) >= 20 {
			break
		}
		v.Findings = append(v.Findings, FoundAt{f.Severity.String(), f.Place.Line, f.Message, p.At("findings", "n", i+1) + "#finding"})
	}
	return v, nil
}

// saveFile writes the text as it was typed: with errors, too, for the file is the
// truth and its findings say what is wrong. What changed meanwhile is not written over.
func saveFile(p *Page) (string, error) {
	before := p.State.Text
	if p.Ask("key") != textKey(string(before)) {
		return "", errors.New("the file has changed since this page showed it: nothing was written; copy what you typed, and open the page anew")
	}
	if !utf8.Valid(before) {
		return "", errors.New("the file is not UTF-8: nothing was written")
	}
	// A form sends line ends as CR LF, whatever the file has.
	text := strings.ReplaceAll(p.Ask("text"), "\r\n", "\n")
	if text != "" && !strings.HasSuffix(text, "\n") {
		text += "\n"
	}
	if strings.TrimSpace(text) == "" {
		return "", errors.New("the box is empty: nothing was written")
	}
	if bytes.Contains(before, []byte("\r\n")) {
		text = strings.ReplaceAll(text, "\n", "\r\n")
	}
	if len(text) > files.MaxTOML {
		return "", fmt.Errorf("the text is larger than %d bytes, which is the most that is read: nothing was written", files.MaxTOML)
	}
	name := filepath.FromSlash(p.File)
	return p.At("file"), p.write(map[string][]byte{name: before}, map[string][]byte{name: []byte(text)})
}
