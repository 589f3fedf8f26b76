// Package edit changes the text of a TOML file: it sets, adds, renames and
// removes keys, and adds, moves and removes tables, and leaves everything else
// as it is written, byte for byte: comments, blank lines, order, line ends. Start
// with [Open]; what it has gathered is an edit that a finding can offer
// ([Editor.Edit]), or the text with all of it done ([Editor.Text]).
//
// Changes are spans on the position map that tomlfile keeps of every file that
// it reads; values are written by the encoder of github.com/BurntSushi/toml. There
// are libraries for TOML with comments kept. Of creachadair/tomledit, by its
// documentation, a formatter writes the document anew, so that spaces and blank
// lines are its own; stricttools/go-toml-edit and npikall/toml-edit are young.
// The module proxy gave none of the three when this was written, so they were
// not measured. Any of them would be a second parser beside the one that findings
// get their places from, and two parsers can disagree about where a key stands.
package edit

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// Editor gathers changes to one file. All of them refer to the text as it was
// read, so that none may touch what another has changed. The first error stays
// and makes the rest do nothing: ask for it once, at the end.
type Editor struct {
	file    *tomlfile.File
	text    []byte
	entries []tomlfile.Entry
	changes []finding.Change
	words   []string
	err     error
}

// Open begins to edit a file that was read.
func Open(file *tomlfile.File) *Editor {
	e := &Editor{file: file}
	if file == nil {
		e.err = errors.New("there is no file to edit")
		return e
	}
	e.text, e.entries = file.Text(), file.Entries()
	return e
}

// In begins an edit that a finding offers, in the file that holds the table. What
// was not read from a file cannot be edited, and of one with very many faults no
// more edits are offered: then the words can be said all the same.
func In(t tomlfile.Table) *Editor {
	e := Open(t.File())
	if e.err == nil && !t.File().MayOffer() {
		e.err = errors.New("the file has too many faults to offer an edit for each")
	}
	return e
}

// Set gives a key of the table a value, and adds the key where it is absent. For
// values see [Value].
func (e *Editor) Set(t tomlfile.Table, key string, value any) *Editor {
	text, err := Value(value)
	e.say("write %s = %s", keyText(key), firstLine(text))
	if e.failed(err) {
		return e
	}
	at, written := t.ValueSpan(key)
	switch {
	case written:
		e.put(at, text)
	case t.Has(key):
		e.fail(t, "%s is a table of its own, not a value", key)
	default:
		e.add(t, key, text)
	}
	return e
}

// SetItem gives item i, from 0, of the list under key another value. A value
// that stands for a list of one is item 0 of it.
func (e *Editor) SetItem(t tomlfile.Table, key string, i int, value any) *Editor {
	text, err := Value(value)
	e.say("write %s", text)
	if e.failed(err) {
		return e
	}
	if at, ok := e.item(t, key, i); ok {
		e.put(at, text)
	}
	return e
}

func (e *Editor) item(t tomlfile.Table, key string, i int) (tomlfile.Span, bool) {
	items, list := t.ItemSpans(key)
	if at, ok := t.ValueSpan(key); ok && !list && i == 0 {
		return at, true
	}
	if i < 0 || i >= len(items) {
		e.fail(t, "%s has no item %d", key, i+1)
		return tomlfile.Span{}, false
	}
	return items[i], true
}

// Write puts text in place of what stands at a place of the file, as a finding
// names it.
func (e *Editor) Write(at finding.Place, text string) *Editor {
	e.say("write %s", text)
	if e.failed(nil) {
		return e
	}
	if s, ok := e.file.SpanOf(at); ok {
		e.put(s, text)
	} else {
		e.err = errors.New(at.String() + ": there is no such place in " + e.file.Name())
	}
	return e
}

// Rename gives a key of the table, or all headers of a table in it, another name.
func (e *Editor) Rename(t tomlfile.Table, key, name string) *Editor {
	e.say("write %s in place of %s", keyText(name), keyText(key))
	if e.failed(nil) {
		return e
	}
	changes, ok := t.Renamed(key, name)
	switch {
	case !t.Has(key):
		e.fail(t, "there is no key %s", key)
	case !ok:
		e.fail(t, "%s is written by several dotted keys", key)
	default:
		e.changes = append(e.changes, changes...)
	}
	return e
}

// Delete removes a key with its value, and the line with it; of a table in
// braces only the pair. A remark behind the value goes, too.
func (e *Editor) Delete(t tomlfile.Table, key string) *Editor {
	e.say("delete %s", keyText(key))
	if e.failed(nil) {
		return e
	}
	at, ok := t.KeySpan(key)
	if !ok {
		e.fail(t, "there is no key %s", key)
		return e
	}
	if t.Form() == tomlfile.InBraces {
		pairs := t.PairSpans()
		e.cut(pairs, slices.IndexFunc(pairs, func(s tomlfile.Span) bool { return s.From == at.From }), t.TextSpan())
		return e
	}
	found := false
	for _, entry := range e.entries {
		if i, ok := entry.In(t); ok && entry.Keys[i] == key {
			e.put(tomlfile.Span{From: e.lineStart(entry.Span.From), To: e.lineEnd(entry.Span.To)}, "")
			found = true
		}
	}
	if !found {
		e.fail(t, "%s is a table of its own, or stands in braces", key)
	}
	return e
}

// DeleteItem removes item i, from 0, of the list in brackets under key. One that has a
// line of its own goes with its line, and the remark behind it.
func (e *Editor) DeleteItem(t tomlfile.Table, key string, i int) *Editor {
	if e.failed(nil) {
		return e
	}
	items, list := t.ItemSpans(key)
	if !list || i < 0 || i >= len(items) {
		e.fail(t, "%s has no item %d in brackets", key, i+1)
		return e
	}
	e.say("delete %s", string(e.text[items[i].From:items[i].To]))
	if line, ok := e.ownLine(items, i); ok {
		e.put(line, "")
		return e
	}
	at, _ := t.ValueSpan(key)
	e.cut(items, i, at)
	return e
}

// AddItem puts a value behind the last one of the list under key; a single value
// that stands for a list becomes one.
func (e *Editor) AddItem(t tomlfile.Table, key string, value any) *Editor {
	text, err := Value(value)
	e.say("add %s to %s", text, keyText(key))
	if e.failed(err) {
		return e
	}
	at, ok := t.ValueSpan(key)
	items, list := t.ItemSpans(key)
	switch {
	case !ok && !t.Has(key):
		e.add(t, key, "["+text+"]")
	case !ok:
		e.fail(t, "%s is a list of tables", key)
	case !list:
		e.put(tomlfile.Span{From: at.From, To: at.From}, "[")
		e.put(tomlfile.Span{From: at.To, To: at.To}, ", "+text+"]")
	case len(items) == 0:
		e.put(at, "["+text+"]")
	default:
		last := len(items) - 1
		end := items[last].To
		line, own := e.ownLine(items, last)
		if !own {
			e.put(tomlfile.Span{From: end, To: end}, ", "+text)
			break
		}
		if !e.comma(end) {
			e.put(tomlfile.Span{From: end, To: end}, ",")
		}
		e.put(tomlfile.Span{From: line.To, To: line.To}, string(e.text[line.From:items[last].From])+text+","+e.newline())
	}
	return e
}

// MoveItem puts item i, from 0, of the list in brackets under key where item to stands;
// those between move up or down. One that has a line of its own takes its line along,
// and the remark behind it.
func (e *Editor) MoveItem(t tomlfile.Table, key string, i, to int) *Editor {
	if e.failed(nil) {
		return e
	}
	items, list := t.ItemSpans(key)
	if !list || i < 0 || to < 0 || i >= len(items) || to >= len(items) {
		e.fail(t, "%s has no item %d and %d in brackets", key, i+1, to+1)
		return e
	}
	e.say("move %s", string(e.text[items[i].From:items[i].To]))
	if i == to {
		return e
	}
	line, own := e.ownLine(items, i)
	target, also := e.ownLine(items, to)
	last := len(items) - 1
	_, tail := e.ownLine(items, last)
	if !own || !also || !tail {
		step := 1
		if to < i {
			step = -1
		}
		text := func(k int) string { return string(e.text[items[k].From:items[k].To]) }
		for k := i; k != to; k += step {
			e.put(items[k], text(k+step))
		}
		e.put(items[to], text(i))
		return e
	}
	moved := string(e.text[line.From:line.To])
	if end := items[last].To; !e.comma(end) { // the last one may lack it
		switch last {
		case i:
			at := items[i].To - line.From
			moved = moved[:at] + "," + moved[at:]
		case to:
			e.put(tomlfile.Span{From: end, To: end}, ",")
		}
	}
	e.put(line, "")
	at := target.From
	if to > i {
		at = target.To
	}
	e.put(tomlfile.Span{From: at, To: at}, moved)
	return e
}

// ownLine is the line of an item of a list that shares it with nothing but its comma
// and a remark, the line end included.
func (e *Editor) ownLine(items []tomlfile.Span, i int) (tomlfile.Span, bool) {
	s := items[i]
	line := tomlfile.Span{From: e.lineStart(s.From), To: e.lineEnd(s.To)}
	before := strings.TrimSpace(string(e.text[line.From:s.From]))
	after := strings.TrimSpace(string(e.text[s.To:line.To]))
	after = strings.TrimSpace(strings.TrimPrefix(after, ","))
	return line, before == "" && (after == "" || after[0] == '#') && line.To > 0 && e.text[line.To-1] == '\n'
}

// comma tells whether a comma follows what ends at an offset.
func (e *Editor) comma(end int) bool {
	return strings.HasPrefix(strings.TrimLeft(string(e.text[end:e.lineEnd(end)]), " \t"), ",")
}

// cut removes one of the things in brackets or braces, which take up all.
func (e *Editor) cut(things []tomlfile.Span, i int, all tomlfile.Span) {
	switch {
	case i > 0:
		e.put(tomlfile.Span{From: things[i-1].To, To: things[i].To}, "")
	case i == 0 && len(things) > 1:
		e.put(tomlfile.Span{From: things[0].From, To: things[1].From}, "")
	default:
		e.put(tomlfile.Span{From: all.From + 1, To: all.To - 1}, "")
	}
}

// Edit is what was gathered, as a finding offers it. The title says what to do;
// without one it is put together from what is done. Where something could not be
// done, the edit has no changes, and only its words are a help.
func (e *Editor) Edit(title string) finding.Edit {
	if title == "" {
		title = strings.Join(e.words, "; ")
	}
	changes, err := e.Changes()
	if err != nil {
		changes = nil
	}
	return finding.Edit{Title: title, Changes: changes}
}

// Changes are what was gathered, in the order of the text.
func (e *Editor) Changes() ([]finding.Change, error) {
	if e.err != nil {
		return nil, e.err
	}
	edit := finding.Edit{Changes: slices.Clone(e.changes)}
	edit.Sort()
	return edit.Changes, overlap(edit.Changes)
}

// Text is the file with all that was gathered, a byte order mark included.
func (e *Editor) Text() ([]byte, error) {
	changes, err := e.Changes()
	if err != nil {
		return nil, err
	}
	return Apply(e.file.Given(), changes)
}

func (e *Editor) failed(err error) bool {
	if e.err == nil {
		e.err = err
	}
	return e.err != nil
}

func (e *Editor) fail(t tomlfile.Table, format string, args ...any) {
	if e.err != nil {
		return
	}
	message := fmt.Sprintf(format, args...)
	if at := t.At(""); !at.IsZero() && t.Form() != tomlfile.AtTop {
		message = at.String() + ": " + message
	}
	if t.Form() == tomlfile.AtTop {
		message = e.file.Name() + ": " + message
	}
	e.err = errors.New(message)
}

func (e *Editor) say(format string, args ...any) {
	e.words = append(e.words, fmt.Sprintf(format, args...))
}

func (e *Editor) put(s tomlfile.Span, text string) {
	if e.err != nil || string(e.text[s.From:s.To]) == text {
		return
	}
	e.changes = append(e.changes, e.file.Change(s, text))
}

// Raw is a value as it is written in TOML.
type Raw string

// Value writes a value as TOML, in one line: text, numbers, booleans, times,
// lists of them, [tomlfile.Pairs] as a table in braces, [Raw] as it is, and
// whatever has a MarshalTOML method.
func Value(v any) (string, error) {
	switch v := v.(type) {
	case Raw:
		return string(v), nil
	case tomlfile.Pairs:
		return braces(v)
	}
	var b strings.Builder
	if err := toml.NewEncoder(&b).Encode(map[string]any{"v": v}); err != nil {
		return "", fmt.Errorf("%v is no value of a TOML file: %w", v, err)
	}
	text, ok := strings.CutPrefix(strings.TrimSuffix(b.String(), "\n"), "v = ")
	if !ok || strings.Contains(text, "\n") {
		return "", fmt.Errorf("%T is no value that stands in one line of a TOML file", v)
	}
	return text, nil
}

func braces(pairs tomlfile.Pairs) (string, error) {
	if len(pairs) == 0 {
		return "{}", nil
	}
	parts := make([]string, len(pairs))
	for i, p := range pairs {
		text, err := Value(p.Value)
		if err != nil {
			return "", err
		}
		parts[i] = keyText(p.Key) + " = " + text
	}
	return "{ " + strings.Join(parts, ", ") + " }", nil
}

// keyText is a key as TOML writes it, in quotes where it needs them.
func keyText(key string) string { return toml.Key{key}.String() }

func firstLine(text string) string {
	line, _, more := strings.Cut(text, "\n")
	if more {
		return line + "…"
	}
	return line
}

// Apply makes the changes in the text of one file, whole, a byte order mark
// included. It refuses changes that overlap, and a text that is not the one they
// were made for.
func Apply(text []byte, changes []finding.Change) ([]byte, error) {
	sorted := finding.Edit{Changes: slices.Clone(changes)}
	sorted.Sort()
	if err := overlap(sorted.Changes); err != nil {
		return nil, err
	}
	var out []byte
	at := 0
	for _, c := range sorted.Changes {
		from, to := c.From.Offset, c.To.Offset
		if from < 0 || to < from || to > len(text) || string(text[from:to]) != c.Old {
			return nil, fmt.Errorf("%s:%d:%d: the file has changed since it was read: check it again", c.File, c.From.Line, c.From.Column)
		}
		out = append(append(out, text[at:from]...), c.New...)
		at = to
	}
	return append(out, text[at:]...), nil
}

// overlap refuses changes, in the order of the text, that are of one place.
func overlap(changes []finding.Change) error {
	for i := 1; i < len(changes); i++ {
		if a, b := changes[i-1], changes[i]; a.File == b.File && b.From.Offset < a.To.Offset {
			return errors.New(b.File + ":" + strconv.Itoa(b.From.Line) + ": two edits change the same place")
		}
	}
	return nil
}
