package tomlfile

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"unicode/utf8"

	"slotcard/plan/finding"
)

// maxFindings bounds how many faults of one kind are listed: after so many the
// file is most likely not what it was meant to be.
const maxFindings = 20

// MaxTotal bounds how many findings are kept of one file; the last tells how
// many more there were.
const MaxTotal = 1000

// File is a TOML file that was read: its text, and where everything stands.
type File struct {
	name       string
	whole      []byte // as it was given
	given      []byte // that, without a byte order mark
	mark       int    // bytes of the byte order mark before it
	data       []byte // the same length: UTF-8, with every byte that TOML forbids replaced
	lines      []int  // offsets at which lines begin
	counted    []int  // characters before every block of the text; nil: not counted yet
	root       *node
	kind       reflect.Type // what it is read into
	rooms      rooms
	statements []statement
	headers    []header // in the order of the text
	broken     bool     // some line could not be read
	doubtful   bool     // some line is not where it belongs, or means nothing
	lostHeader bool     // among them a header, so that tables may be missing
	empty      bool     // it has no key at all
	items      int      // values in brackets and braces of the statement that is being read
	lastTwice  int      // line of the last duplicate key that may begin an entry
	duplicates int      // left out: with them the file as a whole is no TOML
	findings   finding.List
	dropped    int          // findings beyond MaxTotal
	edits      atomic.Int32 // that findings offer

	once    sync.Once // entries are made when they are asked for
	entries []Entry

	mu     sync.Mutex // sheets are laid out at the same time
	lately lately
}

// statement is one KEY = VALUE of the text, and the value it belongs to.
type statement struct {
	text span
	keys []string // parts of the key, relative to its table
	node *node
}

// header is one [TABLE] or [[TABLE]] of the text, and the table it opens.
type header struct {
	text  span
	names []string
	parts []span // where the names are written
	node  *node  // nowhere where it cannot open one
}

// span is a range of bytes.
type span struct{ from, to int }

// Name of the file.
func (f *File) Name() string { return f.name }

// Broken tells whether some line could not be read, so that what seems to be
// absent may have been written.
func (f *File) Broken() bool { return f.broken }

// Doubtful tells whether some line could not be read, or its key means nothing or
// stands twice: then too what seems to be absent may have been written.
func (f *File) Doubtful() bool { return f.broken || f.doubtful }

// Root is the place of the file's top level.
func (f *File) Root() Table { return Table{f, f.root} }

// setText takes the bytes, reports those that no TOML file may hold, and puts
// something harmless of the same length in their place so that the rest can be
// checked.
func (f *File) setText(data []byte) {
	size := len(data)
	f.whole = data
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	f.given, f.mark = data, size-len(data)
	data = slices.Clip(bytes.Clone(data))
	f.data = data
	whole := finding.Place{File: f.name}
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xfe}), bytes.HasPrefix(data, []byte{0xfe, 0xff}),
		len(data) > 3 && data[0] != 0 && data[1] == 0 && data[2] != 0 && data[3] == 0:
		f.addAt(whole, RuleEncoding, "the file is UTF-16 text", "save it as UTF-8")
		f.broken, f.root.spoiled, f.data = true, true, nil
	case bytes.IndexByte(data, '\n') < 0 && bytes.IndexByte(bytes.TrimSuffix(data, []byte{'\r'}), '\r') >= 0:
		f.addAt(whole, RuleEncoding, "the lines end with a carriage return alone", "save the file with the line ends LF or CR LF")
		for i, c := range data {
			if c == '\r' {
				data[i] = '\n'
			}
		}
	}
	f.setLines()
	f.clean()
}

func (f *File) setLines() {
	f.lines = append(make([]int, 0, bytes.Count(f.data, []byte{'\n'})+1), 0)
	for i, c := range f.data {
		if c == '\n' {
			f.lines = append(f.lines, i+1)
		}
	}
}

// clean reports, once a line, bytes that are not UTF-8 and control characters.
func (f *File) clean() {
	const kinds = 2
	var last, count [kinds]int
	// more tells whether one more fault of a kind is listed at an offset.
	more := func(kind, at int) bool {
		if count[kind] >= maxFindings {
			return false
		}
		line := f.line(at)
		if line+1 == last[kind] {
			return false
		}
		last[kind] = line + 1
		count[kind]++
		return true
	}
	report := func(at int, message, help string) *finding.Finding {
		return f.add(span{at, at + 1}, RuleEncoding, message, help)
	}
	for i := 0; i < len(f.data); {
		c := f.data[i]
		switch {
		case c == '\n', c == '\t', c == '\r' && i+1 < len(f.data) && f.data[i+1] == '\n', ' ' <= c && c < 0x7f:
			i++
		case c < ' ' || c == 0x7f:
			f.data[i] = ' '
			if more(0, i) {
				message, help := fmt.Sprintf("the control character U+%04X cannot stand in a TOML file", c), ""
				if c == 0 {
					help = "save the file as UTF-8 text"
				}
				if fault := report(i, message, help); c != 0 {
					f.offer(fault, "delete it", f.controls(i)...)
				}
			}
			i++
		default:
			r, n := utf8.DecodeRune(f.data[i:])
			if r == utf8.RuneError && n == 1 {
				f.data[i] = '?'
				if more(1, i) {
					report(i, fmt.Sprintf("the byte 0x%02X is not UTF-8 text", c), "save the file as UTF-8")
				}
			}
			i += n
		}
	}
	f.lately = lately{} // its text may hold what has been replaced since
	f.count()
}

// controls are the changes that delete the control characters of a line, from
// the one at offset at on; none where there are more than a person looks at.
func (f *File) controls(at int) []finding.Change {
	var changes []finding.Change
	for end := f.lineEnd(f.line(at)); at < end; at++ {
		if c := f.given[at]; c < ' ' && c != '\t' && c != '\r' || c == 0x7f {
			if len(changes) == maxChanges {
				return nil
			}
			changes = append(changes, f.Change(Span{at, at + 1}, ""))
		}
	}
	return changes
}

// maxChanges bounds the control characters that one edit deletes.
const maxChanges = 100

// line is the index, from 0, of the line that holds offset at.
func (f *File) line(at int) int {
	i, exact := slices.BinarySearch(f.lines, at)
	if !exact {
		i--
	}
	return max(i, 0)
}

// lineEnd is the offset behind the line's last character, before its line end.
func (f *File) lineEnd(line int) int {
	end := len(f.data)
	if line+1 < len(f.lines) {
		end = f.lines[line+1] - 1
	}
	if end > f.lines[line] && f.data[end-1] == '\r' {
		end--
	}
	return end
}

// place of a span. One of several lines is cut at the end of its first.
func (f *File) place(s span) finding.Place {
	if len(f.data) == 0 || s.from < 0 {
		return finding.Place{File: f.name}
	}
	from := min(s.from, len(f.data))
	line := f.line(from)
	begin, end := f.lines[line], f.lineEnd(line)
	from = min(from, end)
	return finding.Place{
		File:   f.name,
		Line:   line + 1,
		Column: f.runes(begin, from) + 1,
		Length: max(1, f.runes(from, max(from, min(s.to, end)))),
		Text:   f.lineText(line),
	}
}

// lineText is a line as text. Of a long list in one line each item has a place: its
// text is kept once.
func (f *File) lineText(line int) string {
	f.mu.Lock()
	defer f.mu.Unlock()
	if l := &f.lately; !l.any || l.line != line {
		*l = lately{any: true, line: line, text: string(f.data[f.lines[line]:f.lineEnd(line)])}
	}
	return f.lately.text
}

// lately is the line of the last place that was asked for.
type lately struct {
	any  bool
	line int
	text string
}

// block is after how many bytes characters are counted once: in a line of a megabyte
// a thousand faults have a column each.
const block = 1 << 10

// count counts the characters of the text, which is UTF-8 from here on.
func (f *File) count() {
	f.counted = make([]int, len(f.data)/block+1)
	for i := 1; i < len(f.counted); i++ {
		f.counted[i] = f.counted[i-1] + beginnings(f.data[(i-1)*block:i*block])
	}
}

// beginnings are the bytes of UTF-8 text with which a character begins.
func beginnings(b []byte) (n int) {
	for _, c := range b {
		if c&0xc0 != 0x80 {
			n++
		}
	}
	return n
}

// runes are the characters that begin between two offsets.
func (f *File) runes(from, to int) int {
	if f.counted == nil || to-from <= block {
		return utf8.RuneCount(f.data[from:to])
	}
	before := func(at int) int {
		return f.counted[at/block] + beginnings(f.data[at/block*block:at])
	}
	return before(to) - before(from)
}

// source is what is written at s, short enough for a message.
func (f *File) source(s span) string {
	if s.from < 0 || s.to > len(f.data) || s.from >= s.to {
		return ""
	}
	text, _, more := strings.Cut(string(f.data[s.from:s.to]), "\n")
	const longest = 40
	if r := []rune(text); more || len(r) > longest {
		return string(r[:min(len(r), longest)]) + "…"
	}
	return text
}

func (f *File) add(s span, rule, message string, help ...string) *finding.Finding {
	return f.addAt(f.place(s), rule, message, help...)
}

func (f *File) addAt(p finding.Place, rule, message string, help ...string) *finding.Finding {
	if len(f.findings) >= MaxTotal {
		f.dropped++
		return new(finding.Finding)
	}
	var kept []string
	for _, h := range help {
		if h != "" {
			kept = append(kept, h)
		}
	}
	f.findings.Add(finding.Finding{Rule: rule, Severity: finding.Error, Place: p, Message: message, Help: kept})
	return &f.findings[len(f.findings)-1]
}
