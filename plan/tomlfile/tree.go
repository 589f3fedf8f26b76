package tomlfile

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"slotcard/plan/finding"
)

type kind uint8

const (
	scalar kind = iota
	array
	table
)

// node is a key and what stands under it.
type node struct {
	kind    kind
	key     span // where the key is written, or the header
	value   span // where the value is written, or the header
	names   []string
	nodes   []*node        // under names; the items of an array
	index   map[string]int // of names, once there are many
	raw     any            // value of a scalar
	defined bool           // by a header of its own
	dotted  bool           // by dotted keys: no header may add to it
	closed  bool           // written in brackets or braces: nothing may be added
	tables  bool           // an array of [[tables]]
	bad     bool           // its value could not be read
	spoiled bool           // a line in it could not be read
	strange bool           // a key in it means nothing
}

// rooms are what a tree of many small things is made in: one allocation for
// hundreds of nodes and names, and each name that is written often kept once.
type rooms struct {
	nodes []node
	names []string
	words map[string]string
}

// room is how many things are allocated at once.
const room = 256

func (r *rooms) node(n node) *node {
	if len(r.nodes) == cap(r.nodes) {
		r.nodes = make([]node, 0, room)
	}
	r.nodes = append(r.nodes, n)
	return &r.nodes[len(r.nodes)-1]
}

// word is b as a string.
func (r *rooms) word(b []byte) string {
	if s, ok := r.words[string(b)]; ok {
		return s
	}
	if r.words == nil {
		r.words = map[string]string{}
	}
	s := string(b)
	r.words[s] = s
	return s
}

// list keeps a copy of names.
func (r *rooms) list(names []string) []string {
	if len(r.names)+len(names) > cap(r.names) {
		r.names = make([]string, 0, max(room, len(names)))
	}
	from := len(r.names)
	r.names = append(r.names, names...)
	return r.names[from:len(r.names):len(r.names)]
}

func (n *node) where() span {
	if n.value.to > n.value.from {
		return n.value
	}
	return n.key
}

func (n *node) get(name string) *node {
	if n.kind != table {
		return nil
	}
	if n.index != nil {
		if i, ok := n.index[name]; ok {
			return n.nodes[i]
		}
		return nil
	}
	for i, other := range n.names {
		if other == name {
			return n.nodes[i]
		}
	}
	return nil
}

func (n *node) put(name string, child *node) *node {
	const many = 16
	n.names = append(n.names, name)
	n.nodes = append(n.nodes, child)
	switch {
	case n.index != nil:
		n.index[name] = len(n.names) - 1
	case len(n.names) > many:
		n.index = make(map[string]int, 2*many)
		for i, other := range n.names {
			n.index[other] = i
		}
	}
	return child
}

// rename gives entry i of a table another name.
func (n *node) rename(i int, name string) {
	if n.index != nil {
		delete(n.index, n.names[i])
		n.index[name] = i
	}
	n.names[i] = name
}

// item is where item i stands: of an array its value, of a table its key.
func (n *node) item(i int) span {
	switch {
	case i < 0 || i >= len(n.nodes):
		return n.where()
	case n.kind == table:
		return n.nodes[i].key
	}
	return n.nodes[i].where()
}

// nowhere collects the keys below a header that could not be read.
func nowhere() *node { return &node{kind: table, spoiled: true} }

// parse builds the tree of keys with their places. After a statement that is not
// TOML it goes on with the next line that looks like one.
func (f *File) parse() {
	current := f.root
	f.statements = make([]statement, 0, min(len(f.lines), bytes.Count(f.data, []byte{'='})))
	var p unstable.Parser
	for base, faults := 0, 0; base < len(f.data); {
		data := f.data[base:]
		p.Reset(data)
		end := base // of the last good statement
		for p.NextExpression() {
			e := p.Expression()
			if e.Kind == unstable.KeyValue {
				end = base + int(e.Raw.Offset+e.Raw.Length)
				f.keyValue(current, e, base)
				continue
			}
			var h header
			if h, end = f.header(e, base); h.node == nil {
				h.node = nowhere()
			}
			f.headers = append(f.headers, h)
			current = h.node
		}
		err := p.Error()
		if err == nil {
			return
		}
		f.broken = true
		start := f.skip(end, " \t\r\n#")
		at := start
		message := err.Error()
		var parseErr *unstable.ParserError
		if errors.As(err, &parseErr) {
			message = parseErr.Message
			at = min(max(start, base+cap(data)-cap(parseErr.Highlight)), len(f.data))
		}
		f.syntaxFault(start, at, message)
		if start < len(f.data) && f.data[start] == '[' {
			f.lostHeader = true
			current = nowhere()
		} else {
			current.spoiled = true
		}
		if faults++; faults >= maxFindings {
			f.lostHeader = true
			last := &f.findings[len(f.findings)-1]
			last.Help = append(last.Help, "there may be more: the rest of the file was not read")
			return
		}
		base = f.resume(start, at)
	}
}

// statementLine is what the beginning of a statement looks like.
var statementLine = regexp.MustCompile(`^[ \t]*(\[\[?[ \t]*[A-Za-z0-9_.-]+[ \t]*\]\]?[ \t]*(#.*)?$|[A-Za-z0-9_.-]+[ \t]*=)`)

// resume is where reading goes on after the statement that begins at start and
// fails at offset at.
func (f *File) resume(start, at int) int {
	line := f.line(at)
	if line == f.line(start) {
		line++
	}
	for ; line < len(f.lines); line++ {
		if statementLine.Match(f.data[f.lines[line]:f.lineEnd(line)]) {
			return f.lines[line]
		}
	}
	return len(f.data)
}

// skip moves over the characters of set; '#' in it stands for a whole comment.
func (f *File) skip(at int, set string) int {
	for at < len(f.data) && strings.IndexByte(set, f.data[at]) >= 0 {
		if f.data[at] == '#' {
			at = f.lineEnd(f.line(at))
			continue
		}
		at++
	}
	return at
}

// filler stands between the values of an array or inline table.
const filler = " \t\r\n,#"

func keySpan(n *unstable.Node, base int) span {
	from := base + int(n.Raw.Offset)
	return span{from, from + int(n.Raw.Length)}
}

// header enters a [table] or [[table]]; its node is nil where it cannot be. It
// also tells where the line ends.
func (f *File) header(e *unstable.Node, base int) (header, int) {
	var names []string
	var keys []span
	for it := e.Key(); it.Next(); {
		if len(names) <= maxKeys {
			names = append(names, f.rooms.word(it.Node().Data))
			keys = append(keys, keySpan(it.Node(), base))
		}
	}
	brackets := 1
	if e.Kind == unstable.ArrayTable {
		brackets = 2
	}
	where := span{bytes.LastIndexByte(f.data[:keys[0].from], '['), keys[len(keys)-1].to}
	where.from -= brackets - 1
	end := f.lineEnd(f.line(where.from))
	if len(names) > maxKeys {
		f.tooDeep(where)
		return header{text: where}, end
	}
	if i := bytes.IndexByte(f.data[where.to:end], ']'); i >= 0 {
		where.to += i + brackets
	}
	return header{where, names, keys, f.open(names, keys, where, brackets == 2)}, end
}

// open is the node of the table that the header at where opens, nil where it
// cannot be.
func (f *File) open(names []string, keys []span, where span, several bool) *node {
	at := f.root
	for i, name := range names[:len(names)-1] {
		next := at.get(name)
		switch {
		case next == nil:
			next = at.put(name, &node{kind: table, key: keys[i], value: where})
		case next.kind == array && next.tables:
			next = next.nodes[len(next.nodes)-1]
		case next.kind != table || next.closed:
			f.duplicate(keys[i], strings.Join(names[:i+1], "."), next)
			return nil
		}
		at = next
	}
	name := names[len(names)-1]
	old := at.get(name)
	child := f.rooms.node(node{kind: table, key: where, value: where, defined: true})
	if several {
		switch {
		case old == nil:
			old = at.put(name, &node{kind: array, key: where, value: where, tables: true})
		case !old.tables:
			f.duplicate(where, strings.Join(names, "."), old)
			return nil
		}
		old.nodes = append(old.nodes, child)
		return child
	}
	switch {
	case old == nil:
		return at.put(name, child)
	case old.kind == table && !old.defined && !old.dotted && !old.closed:
		old.defined, old.key, old.value = true, where, where
		return old
	}
	f.duplicate(where, strings.Join(names, "."), old)
	return nil
}

// keyValue enters a KEY = VALUE below current.
func (f *File) keyValue(current *node, e *unstable.Node, base int) {
	whole := span{base + int(e.Raw.Offset), base + int(e.Raw.Offset+e.Raw.Length)}
	before, said := f.duplicates, len(f.findings)
	f.items = 0
	child, names := f.enter(current, e, base, 1, whole)
	switch {
	case child == nil && f.duplicates > before && len(f.findings) > said:
		f.deleteOne(whole)
	case child == nil:
	case f.duplicates > before: // inside of its braces
		child.bad = true
	default:
		f.statements = append(f.statements, statement{whole, names, child})
	}
}

// enter puts the value of e below current, for dotted keys through tables
// between. It is nil where that cannot be.
func (f *File) enter(current *node, e *unstable.Node, base, depth int, whole span) (*node, []string) {
	var nameBuf [4]string
	var keyBuf [4]span
	names, keys := nameBuf[:0], keyBuf[:0] // most keys have one part
	for it := e.Key(); it.Next(); {
		if len(names) == maxKeys {
			f.tooDeep(whole)
			current.spoiled = true
			return nil, nil
		}
		names = append(names, f.rooms.word(it.Node().Data))
		keys = append(keys, keySpan(it.Node(), base))
	}
	last := len(names) - 1
	at := current
	for i, name := range names[:last] {
		next := at.get(name)
		switch {
		case next == nil:
			next = at.put(name, f.rooms.node(node{kind: table, key: keys[i], value: keys[i], dotted: true}))
		case next.kind != table || next.closed || next.defined:
			f.duplicate(keys[i], strings.Join(names[:i+1], "."), next)
			return nil, nil
		}
		at = next
	}
	if old := at.get(names[last]); old != nil {
		f.duplicate(keys[last], strings.Join(names, "."), old)
		return nil, nil
	}
	from := f.skip(keys[last].to, " \t")
	from = f.skip(from, "=")
	from = f.skip(from, " \t")
	child, _ := f.build(e.Value(), base, from, depth)
	if child == nil {
		current.spoiled = true
		return nil, nil
	}
	child.key = keys[last]
	return at.put(names[last], child), f.rooms.list(names)
}

// build makes the node of a value that is written from offset from on, and tells
// where the value ends; nil where it is nested too deep.
func (f *File) build(v *unstable.Node, base, from, depth int) (*node, int) {
	n := f.rooms.node(node{kind: scalar})
	end := from
	switch v.Kind {
	case unstable.Array, unstable.InlineTable:
		if depth > maxDepth {
			f.tooDeep(span{from, from + 1})
			return nil, from
		}
		n.kind, n.closed = array, true
		if v.Kind == unstable.InlineTable {
			n.kind = table
		}
		end++ // over the bracket
		for it := v.Children(); it.Next(); {
			e := it.Node()
			if f.items++; f.items > maxItems {
				f.broken = true
				what := map[kind]string{array: "list", table: "table"}[n.kind]
				f.add(span{from, from + 1}, RuleTooLarge, fmt.Sprintf("the %s that begins here has more than %d values", what, maxItems), "check that this is the file you meant")
				return nil, from
			}
			end = f.skip(end, filler)
			if n.kind == array {
				item, to := f.build(e, base, end, depth+1)
				if item == nil {
					return nil, from
				}
				n.nodes = append(n.nodes, item)
				end = to
				continue
			}
			whole := span{base + int(e.Raw.Offset), base + int(e.Raw.Offset+e.Raw.Length)}
			f.enter(n, e, base, depth+1, whole)
			end = whole.to
			if n.spoiled {
				return nil, from
			}
		}
		for _, child := range n.nodes {
			if child.dotted {
				child.close()
			}
		}
		end = f.skip(end, filler) + 1
	default:
		end = base + int(v.Raw.Offset+v.Raw.Length)
	}
	n.value = span{from, end}
	return n, end
}

// close marks a table of an inline table that dotted keys made.
func (n *node) close() {
	n.closed = true
	for _, child := range n.nodes {
		if child.dotted {
			child.close()
		}
	}
}

// deleteOne offers to delete the statement at again, whose key stood before, or
// that one; where both give the same value, only this.
func (f *File) deleteOne(again span) {
	if len(f.findings) >= MaxTotal || f.edits.Load() >= maxEdits {
		return
	}
	fault := &f.findings[len(f.findings)-1]
	first, ok := f.SpanOf(fault.Related[0].Place)
	i := slices.IndexFunc(f.statements, func(s statement) bool { return ok && s.node.key == span{first.From, first.To} })
	if i < 0 {
		return
	}
	fault.Help = nil
	if header := f.headerAbove(again); header != "" {
		begin := f.lines[f.line(again.from)]
		f.replace(fault, "if another entry begins here, write "+header+" above it", span{begin, begin}, header+"\n")
	}
	lines := func(s span) span {
		to := f.lineEnd(f.line(s.to))
		if next := f.line(s.to) + 1; next < len(f.lines) {
			to = f.lines[next]
		}
		return span{f.lines[f.line(s.from)], to}
	}
	number := func(s span) string { return "delete line " + strconv.Itoa(f.line(s.from)+1) }
	old := f.statements[i].text
	f.replace(fault, number(again), lines(again), "")
	if value := func(s span) string {
		_, v, _ := strings.Cut(string(f.data[s.from:s.to]), "=")
		return strings.TrimSpace(v)
	}; value(old) != value(again) {
		f.replace(fault, number(old), lines(old), "")
	}
}

func (f *File) tooDeep(at span) {
	f.broken = true
	f.add(at, RuleTooDeep, "lists, tables or dotted keys are nested too deep", "no key of a load or a plan needs more than three levels")
}

// longestEntry is in how many lines above a key the header of its entry is looked for.
const longestEntry = 500

// headerAbove is the [[header]] that what stands at a line's beginning is below; ""
// where that is none in double brackets.
func (f *File) headerAbove(at span) string {
	line := f.line(at.from)
	if len(bytes.TrimLeft(f.data[f.lines[line]:at.from], " \t")) > 0 {
		return "" // inside of braces, or of a dotted key
	}
	for least := max(0, line-longestEntry); line > least; {
		line--
		text := bytes.TrimSpace(f.data[f.lines[line]:f.lineEnd(line)])
		switch {
		case bytes.HasPrefix(text, []byte("[[")):
			if header, _, ok := bytes.Cut(text, []byte("]]")); ok && len(header) <= 40 {
				return string(header) + "]]"
			}
			return ""
		case bytes.HasPrefix(text, []byte("[")):
			return ""
		}
	}
	return ""
}

func (f *File) duplicate(at span, name string, old *node) {
	f.duplicates++
	f.doubtful = true // what it belongs to may be missing elsewhere
	if len(f.findings) >= MaxTotal {
		f.dropped++
		return
	}
	where := f.place(old.key)
	what, help := "the key "+name+" stands here again", "delete one of them"
	var cause finding.Cause
	switch {
	case f.data[at.from] != '[':
		// Several keys of an entry again are the next entry, whose header was lost.
		if n := len(f.headers); n > 0 && bytes.HasPrefix(f.data[f.headers[n-1].text.from:], []byte("[[")) {
			title := f.source(f.headers[n-1].text)
			help = fmt.Sprintf("if another %s begins here, write %s above this line; else delete one of them", title, title)
			cause = finding.Cause{Name: fmt.Sprintf("%s in line %d", title, f.line(f.headers[n-1].text.from)+1), Help: []string{help}}
		}
	case old.kind == table && !old.closed && !old.tables:
		what, help = "the table ["+name+"] stands here again", "put its keys under the first one"
	case old.tables:
		what, help = "["+name+"] stands here in single brackets, and in double ones before", "write [["+name+"]]"
	default:
		what, help = "the table "+name+" stands here again, in another way", "write it in one way only"
	}
	if header := f.headerAbove(at); f.data[at.from] != '[' && header != "" && !strings.Contains(name, ".") {
		if n := len(f.findings); n > 0 && f.findings[n-1].Rule == RuleDuplicateKey && f.lastTwice == f.line(at.from)-1 {
			f.lastTwice++ // the next key of the same entry: said already
			return
		}
		f.lastTwice = f.line(at.from)
	}
	fault := f.add(at, RuleDuplicateKey, what+"; first in line "+strconv.Itoa(where.Line), help)
	fault.Cause = cause
	fault.Related = []finding.Related{{Place: where, Message: fmt.Sprintf("%s stands here first", name)}}
}
