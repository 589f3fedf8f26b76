package scan

import (
	"bytes"
	"compress/zlib"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"

	"github.com/makiuchi-d/gozxing"
)

// This file reads PDFs that slotcard wrote, and no others: one table of
// objects, pages in one list, streams that are deflated or plain, and the few
// operators that render inks with. Whatever else a PDF may hold could hide a
// code or show another one, so it is an error and not passed over.

// ErrForeign is a PDF that slotcard did not write, or that another program has
// changed since.
var ErrForeign = errors.New("is no PDF as slotcard wrote it, and no other can be read; scan or photograph the paper instead")

const (
	maxInflated = 48 << 20  // bytes of all streams of a file, read in under a second, and
	maxPacked   = 100       // how many of them a byte of the file may hold, beyond
	minInflated = 16 << 20  // what any file may; ours hold about 20
	maxStream   = 16 << 20  // bytes of a stream
	maxLexed    = 3         // how often the bytes of a file are read as objects
	maxRects    = 177 * 177 // of a path: more are no symbol
	maxPages    = 10_000
	maxCodes    = 100_000 // places of codes in a file
	maxDepth    = 4       // forms inside of forms, arrays inside of arrays
)

// PDF reads the codes that are drawn on each page of a PDF that slotcard wrote:
// from the drawing itself, module by module, not from a picture of it. A code
// that is drawn and cannot be read is an error. The error is [ErrForeign],
// perhaps with what is foreign in it, for any other PDF, and that of ctx when it ends.
func PDF(ctx context.Context, data []byte) (pages [][]Code, err error) {
	if len(data) > MaxFile {
		return nil, fmt.Errorf("is larger than %d MB", MaxFile>>20)
	}
	d, err := openPDF(data)
	if err != nil {
		return nil, err
	}
	pages = make([][]Code, len(d.pages))
	total := 0
	for i, p := range d.pages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		symbols, err := d.page(p)
		if err != nil {
			return nil, fmt.Errorf("page %d: %w", i+1, err)
		}
		if total += len(symbols); total > maxCodes {
			return nil, fmt.Errorf("holds more than %d codes", maxCodes)
		}
		for _, s := range symbols {
			pages[i] = append(pages[i], Code{Text: s.text, X: s.x, Y: s.y, Side: s.side})
		}
		slices.SortStableFunc(pages[i], func(a, b Code) int {
			if math.Abs(a.Y-b.Y) > (a.Side+b.Side)/4 {
				return int(math.Copysign(1, a.Y-b.Y))
			}
			return int(math.Copysign(1, a.X-b.X))
		})
	}
	if total == 0 {
		return nil, ErrNoCode
	}
	return pages, nil
}

// Values of a PDF: float64, name, text, reference, dict, []any; keyword for
// operators, true, false and null.
type (
	name      string
	text      string
	keyword   string
	reference int
	dict      map[name]any
)

// pdf is a file that was opened.
type pdf struct {
	data     []byte
	objects  map[reference]int // where each begins
	root     dict
	pages    []dict
	inflated int
	lexed    int // bytes of objects
	dicts    map[reference]dict
	forms    map[reference][]symbol
	texts    map[[sha256.Size]byte]string // of symbols, by their modules
}

func foreign(format string, args ...any) error {
	return fmt.Errorf("%w (%s)", ErrForeign, fmt.Sprintf(format, args...))
}

var startxref = regexp.MustCompile(`startxref\s+(\d{1,10})\s+%%EOF\s*$`)

func openPDF(data []byte) (*pdf, error) {
	d := &pdf{data: data, objects: map[reference]int{}, dicts: map[reference]dict{}, forms: map[reference][]symbol{}, texts: map[[sha256.Size]byte]string{}}
	tail := data[max(0, len(data)-64):]
	m := startxref.FindSubmatch(tail)
	if m == nil {
		return nil, foreign("it breaks off before its end")
	}
	at, _ := strconv.Atoi(string(m[1]))
	if at >= len(data) {
		return nil, foreign("it is shorter than it says")
	}
	trailer, err := d.table(at)
	if err != nil {
		return nil, err
	}
	for _, key := range []name{"Prev", "Encrypt", "XRefStm"} {
		if trailer[key] != nil && key == "Encrypt" {
			return nil, foreign("it is encrypted, with a password or without")
		} else if trailer[key] != nil {
			return nil, foreign("its trailer has %s", key)
		}
	}
	info, err := d.dict(trailer["Info"])
	if err != nil {
		return nil, err
	}
	if info["Producer"] != text("slotcard") {
		return nil, foreign("another program wrote it")
	}
	root, err := d.dict(trailer["Root"])
	if err != nil {
		return nil, err
	}
	d.root = root
	tree, err := d.dict(root["Pages"])
	if err != nil {
		return nil, err
	}
	kids, ok := tree["Kids"].([]any)
	if !ok || len(kids) > maxPages {
		return nil, foreign("it has no list of at most %d pages", maxPages)
	}
	for _, k := range kids {
		p, err := d.dict(k)
		if err != nil {
			return nil, err
		}
		if p["Type"] != name("Page") || p["Annots"] != nil || p["Rotate"] != nil {
			return nil, foreign("it has pages of another kind")
		}
		d.pages = append(d.pages, p)
	}
	return d, nil
}

// table reads where objects begin, and returns the trailer behind it.
func (d *pdf) table(at int) (dict, error) {
	l := &lexer{data: d.data, at: at}
	if l.next() != keyword("xref") {
		return nil, foreign("it has no table of objects")
	}
	first, ok1 := l.next().(float64)
	count, ok2 := l.next().(float64)
	if !ok1 || !ok2 || first != 0 || count < 1 || int(count) > len(d.data)/20 {
		return nil, foreign("its table of objects is damaged")
	}
	for i := range int(count) {
		offset, ok1 := l.next().(float64)
		_, ok2 := l.next().(float64)
		kind, ok3 := l.next().(keyword)
		if !ok1 || !ok2 || !ok3 || offset < 0 || int(offset) >= len(d.data) {
			return nil, foreign("its table of objects is damaged")
		}
		if kind == "n" {
			d.objects[reference(i)] = int(offset)
		}
	}
	if l.next() != keyword("trailer") {
		return nil, foreign("its table of objects is in several parts")
	}
	trailer, ok := l.value(0).(dict)
	if !ok {
		return nil, foreign("its trailer is damaged")
	}
	return trailer, nil
}

// object is the lexer behind the value of an object, and the value.
func (d *pdf) object(v any) (*lexer, any, error) {
	ref, ok := v.(reference)
	at, known := d.objects[ref]
	if !ok || !known {
		return nil, nil, foreign("an object is missing")
	}
	l := &lexer{data: d.data, at: at}
	if l.next() != float64(ref) || l.next() != float64(0) || l.next() != keyword("obj") {
		return nil, nil, foreign("an object does not stand where its table says")
	}
	value := l.value(0)
	if d.lexed += l.at - at; d.lexed > maxLexed*len(d.data) {
		return nil, nil, foreign("its objects stand inside of each other")
	}
	return l, value, nil
}

// dict is a dictionary, by itself or by reference.
func (d *pdf) dict(v any) (dict, error) {
	if direct, ok := v.(dict); ok {
		return direct, nil
	}
	ref, _ := v.(reference)
	if known, ok := d.dicts[ref]; ok {
		return known, nil
	}
	_, v, err := d.object(v)
	if err != nil {
		return nil, err
	}
	direct, ok := v.(dict)
	if !ok {
		return nil, foreign("an object is of another kind")
	}
	d.dicts[ref] = direct
	return direct, nil
}

// stream is the content of a stream, and its dictionary.
func (d *pdf) stream(v any) ([]byte, dict, error) {
	l, value, err := d.object(v)
	if err != nil {
		return nil, nil, err
	}
	head, ok := value.(dict)
	length, ok2 := head["Length"].(float64)
	if !ok || !ok2 || l.next() != keyword("stream") || l.at >= len(d.data) || d.data[l.at] != '\n' {
		return nil, nil, foreign("a stream is damaged")
	}
	at := l.at + 1
	if length < 0 || at+int(length) > len(d.data) {
		return nil, nil, foreign("a stream is longer than the file")
	}
	raw := d.data[at : at+int(length)]
	if head["DecodeParms"] != nil {
		return nil, nil, foreign("a stream is packed in another way")
	}
	var content io.Reader = bytes.NewReader(raw)
	switch head["Filter"] {
	case nil:
	case name("FlateDecode"):
		if content, err = zlib.NewReader(content); err != nil {
			return nil, nil, foreign("a stream cannot be unpacked")
		}
	default:
		return nil, nil, foreign("a stream is packed in another way")
	}
	most := min(maxInflated, max(minInflated, maxPacked*len(d.data)))
	left := min(maxStream, most-d.inflated)
	plain, err := io.ReadAll(io.LimitReader(content, int64(left)+1))
	if err != nil {
		return nil, nil, foreign("a stream cannot be unpacked")
	}
	switch {
	case len(plain) <= left:
	case left == maxStream:
		return nil, nil, foreign("a drawing in it unpacks to more than %d MB", maxStream>>20)
	default:
		return nil, nil, foreign("it unpacks to more than %d MB", most>>20)
	}
	d.inflated += len(plain)
	return plain, head, nil
}

// page is what symbols stand on a page, their places in points from its top.
func (d *pdf) page(p dict) ([]symbol, error) {
	box, ok := p["MediaBox"].([]any)
	if !ok || len(box) != 4 {
		return nil, foreign("it has no size")
	}
	var size [4]float64
	for i := range box {
		if size[i], ok = box[i].(float64); !ok {
			return nil, foreign("it has no size")
		}
	}
	content, _, err := d.stream(p["Contents"])
	if err != nil {
		return nil, err
	}
	symbols, err := d.drawn(content, p["Resources"], 0)
	if err != nil {
		return nil, err
	}
	for i := range symbols {
		s := &symbols[i]
		s.x, s.y = s.x-size[0], size[3]-s.y
		if s.x < 0 || s.y < 0 || s.x > size[2]-size[0] || s.y > size[3]-size[1] {
			return nil, foreign("a code stands beside the paper")
		}
	}
	return symbols, nil
}

// matrix maps x, y to a·x + c·y + e, b·x + d·y + f.
type matrix [6]float64

// then is first m, then n.
func (m matrix) then(n matrix) matrix {
	return matrix{
		m[0]*n[0] + m[1]*n[2], m[0]*n[1] + m[1]*n[3],
		m[2]*n[0] + m[3]*n[2], m[2]*n[1] + m[3]*n[3],
		m[4]*n[0] + m[5]*n[2] + n[4], m[4]*n[1] + m[5]*n[3] + n[5],
	}
}

func (m matrix) apply(x, y float64) (u, v float64) {
	return m[0]*x + m[2]*y + m[4], m[1]*x + m[3]*y + m[5]
}

// symbol is a QR symbol as it is drawn.
type symbol struct {
	text string
	x, y float64
	side float64
}

// placed is the symbol seen through a transformation.
func (s symbol) placed(m matrix) symbol {
	s.x, s.y = m.apply(s.x, s.y)
	s.side *= math.Sqrt(math.Abs(m[0]*m[3] - m[1]*m[2]))
	return s
}

// textOf reads modules, row by row and a byte each, 1 for dark.
func (d *pdf) textOf(modules []byte, size int) (string, bool) {
	key := sha256.Sum256(modules)
	if text, ok := d.texts[key]; ok {
		return text, true
	}
	bits, err := gozxing.NewSquareBitMatrix(size)
	if err != nil {
		return "", false
	}
	for i, m := range modules {
		if m != 0 {
			bits.Set(i%size, i/size)
		}
	}
	text, ok := decoded(bits)
	if ok {
		d.texts[key] = text
	}
	return text, ok
}

// passive are the operators that draw something else, or set what does not
// touch a filled path, with how many operands each takes. It is all that render
// and the library below it write.
var passive = map[string]int{
	"G": 1, "RG": 3, "w": 1, "d": 2, "J": 1, "j": 1,
	"BT": 0, "ET": 0, "Tf": 2, "Td": 2, "Tj": 1,
	"BDC": 2, "EMC": 0,
}

type graphics struct {
	ctm   matrix
	black bool
	clip  *[4]float64 // what shows, in the stream's own coordinates: least x and y, most x and y; nil: everything
}

// clipped is the state in which only a rectangle shows as well.
func (g graphics) clipped(r [4]float64) graphics {
	x0, y0 := g.ctm.apply(r[0], r[1])
	x1, y1 := g.ctm.apply(r[0]+r[2], r[1]+r[3])
	box := [4]float64{min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)}
	if c := g.clip; c != nil {
		box = [4]float64{max(box[0], c[0]), max(box[1], c[1]), min(box[2], c[2]), min(box[3], c[3])}
	}
	g.clip = &box
	return g
}

// shows tells whether the middle of a symbol is within what shows: of a sheet in
// tiles each symbol counts on the tile that holds most of it.
func (g graphics) shows(s symbol) bool {
	c := g.clip
	return c == nil || s.x >= c[0] && s.x <= c[2] && s.y >= c[1] && s.y <= c[3]
}

// drawn follows a content stream, and returns the symbols in it.
func (d *pdf) drawn(content []byte, resources any, depth int) ([]symbol, error) {
	var out []symbol
	now := graphics{ctm: matrix{1, 0, 0, 1, 0, 0}, black: true}
	var saved []graphics
	var rects [][4]float64
	met := 0       // symbols of forms, whether they show or not
	other := false // the path holds more than rectangles
	var operands operands
	l := &lexer{data: content}
	numbers := func(n int) ([]float64, bool) { return operands.numbers[:n], operands.areNumbers(n) }
	for {
		t := l.token()
		if t.kind != tokenWord || opens(t.word) {
			if t.kind == tokenEnd {
				if operands.n > 0 || len(saved) > 0 {
					return nil, foreign("its drawing breaks off")
				}
				return out, nil
			}
			if !operands.add(l, t) {
				return nil, foreign("its drawing is damaged")
			}
			continue
		}
		bad := false
		switch string(t.word) {
		case "q":
			if saved = append(saved, now); len(saved) > 64 {
				return nil, foreign("its drawing is damaged")
			}
		case "Q":
			if len(saved) == 0 {
				return nil, foreign("its drawing is damaged")
			}
			now, saved = saved[len(saved)-1], saved[:len(saved)-1]
		case "cm":
			vs, ok := numbers(6)
			if bad = !ok; ok {
				now.ctm = matrix(vs).then(now.ctm)
			}
		case "g":
			vs, ok := numbers(1)
			bad, now.black = !ok, ok && vs[0] == 0
		case "rg":
			vs, ok := numbers(3)
			bad, now.black = !ok, ok && vs[0] == 0 && vs[1] == 0 && vs[2] == 0
		case "re":
			vs, ok := numbers(4)
			if bad = !ok; ok && !other {
				rects = append(rects, [4]float64(vs))
				other = len(rects) > maxRects
			}
		case "m", "l":
			_, ok := numbers(2)
			bad, other = !ok, true
		case "c":
			_, ok := numbers(6)
			bad, other = !ok, true
		case "h":
			bad = operands.n != 0
		case "f", "S", "B":
			if t.word[0] == 'f' && !other && now.black {
				if modules, size := modulesOf(rects); modules != nil {
					text, ok := d.textOf(modules, size)
					if !ok {
						return nil, errors.New("a code is drawn on it that cannot be read")
					}
					half := float64(size) / 2
					if s := (symbol{text, half, half, float64(size)}).placed(now.ctm); now.shows(s) {
						out = append(out, s)
					}
				}
			}
			bad = operands.n != 0
			rects, other = rects[:0], false
		case "W": // render clips by one rectangle
			if bad = operands.n != 0 || other || len(rects) != 1; !bad {
				now = now.clipped(rects[0])
			}
		case "n":
			bad = operands.n != 0
			rects, other = rects[:0], false
		case "Do":
			form, err := d.form(&operands, resources, depth)
			if err != nil {
				return nil, err
			}
			met += len(form)
			for _, s := range form {
				if s = s.placed(now.ctm); now.shows(s) {
					out = append(out, s)
				}
			}
		default:
			n, known := passive[string(t.word)]
			if !known {
				return nil, foreign("it is drawn with %q", string(t.word))
			}
			bad = operands.n != n
		}
		if bad {
			return nil, foreign("its drawing is damaged")
		}
		if len(out) > maxCodes || met > 100*maxCodes { // of tiles most show nowhere
			return nil, fmt.Errorf("holds more than %d codes", maxCodes)
		}
		operands.n = 0
	}
}

// operands are what stands before an operator.
type operands struct {
	n       int
	kinds   [maxOperands]kind
	numbers [maxOperands]float64
	name    []byte // the last one
}

const maxOperands = 8

// add notes what begins with a token; not ok where that is damaged, or one too many.
func (o *operands) add(l *lexer, t token) bool {
	if o.n == maxOperands || t.kind == tokenBad {
		return false
	}
	if t.kind == tokenWord && !l.skip(t.word[0]) { // an array or a dictionary
		return false
	}
	o.kinds[o.n], o.numbers[o.n] = t.kind, t.number
	if t.kind == tokenName {
		o.name = t.word
	}
	o.n++
	return true
}

// areNumbers tells whether they are n numbers.
func (o *operands) areNumbers(n int) bool {
	if o.n != n {
		return false
	}
	for _, k := range o.kinds[:n] {
		if k != tokenNumber {
			return false
		}
	}
	return true
}

// skip goes behind the end of the array or dictionary that began with a bracket; not
// ok where there is none, or too much in it.
func (l *lexer) skip(bracket byte) bool {
	var open [maxDepth]byte
	open[0] = bracket
	for depth := 0; depth >= 0; {
		t := l.token()
		switch {
		case t.kind == tokenBad || t.kind == tokenEnd:
			return false
		case t.kind != tokenWord:
		case opens(t.word):
			if depth++; depth == maxDepth {
				return false
			}
			open[depth] = t.word[0]
		case t.word[0] == ']' && open[depth] == '[', t.word[0] == '>' && open[depth] == '<':
			depth--
		case t.word[0] == ']' || t.word[0] == '>':
			return false
		}
	}
	return true
}

// opens tells whether a word begins an array or a dictionary.
func opens(word []byte) bool { return word[0] == '[' || word[0] == '<' }

// form is what symbols a form draws that is placed by name.
func (d *pdf) form(operands *operands, resources any, depth int) ([]symbol, error) {
	if operands.n != 1 || operands.kinds[0] != tokenName || depth == maxDepth {
		return nil, foreign("its drawing is damaged")
	}
	res, err := d.dict(resources)
	if err != nil {
		return nil, err
	}
	forms, err := d.dict(res["XObject"])
	if err != nil {
		return nil, err
	}
	ref, ok := forms[name(operands.name)].(reference)
	if !ok {
		return nil, foreign("an object is missing")
	}
	if symbols, ok := d.forms[ref]; ok {
		return symbols, nil
	}
	content, head, err := d.stream(ref)
	if err != nil {
		return nil, err
	}
	if head["Subtype"] != name("Form") || head["Matrix"] != nil || head["Group"] != nil {
		return nil, foreign("it places a picture, or a form of another kind")
	}
	inner := head["Resources"]
	if inner == nil {
		inner = resources
	}
	symbols, err := d.drawn(content, inner, depth+1)
	if err != nil {
		return nil, err
	}
	d.forms[ref] = symbols
	return symbols, nil
}

// modulesOf takes a path of dark runs, in modules from the symbol's corner, for
// the symbol that it is: of 21 to 177 modules on a side, in steps of four
// (ISO/IEC 18004; secondary). The modules are nil where it is none.
func modulesOf(rects [][4]float64) (modules []byte, size int) {
	const least, most = 21, 177
	side, dark := 0.0, 0.0
	for _, r := range rects {
		for _, v := range r {
			if v < 0 || v > most || v != math.Trunc(v) {
				return nil, 0
			}
		}
		if r[3] != 1 {
			return nil, 0
		}
		side, dark = max(side, r[0]+r[2], r[1]+1), dark+r[2]
	}
	size = int(side)
	if dark > side*side { // runs that lie over each other
		return nil, 0
	}
	if size < least || size > most || (size-least)%4 != 0 {
		return nil, 0
	}
	modules = make([]byte, size*size)
	for _, r := range rects {
		for x := range int(r[2]) {
			modules[int(r[1])*size+int(r[0])+x] = 1
		}
	}
	return modules, size
}

// lexer reads values of a PDF, one behind the other.
type lexer struct {
	data []byte
	at   int
}

// value reads a value with all that is in it; nil where there is none.
func (l *lexer) value(depth int) any {
	v := l.next()
	switch v {
	case keyword("<<"):
		if depth == maxDepth {
			return nil
		}
		d := dict{}
		for {
			key := l.next()
			if key == keyword(">>") {
				return d
			}
			k, ok := key.(name)
			inner := l.value(depth + 1)
			if !ok || inner == nil || inner == keyword("") {
				return nil
			}
			d[k] = inner
		}
	case keyword("["):
		if depth == maxDepth {
			return nil
		}
		list := []any{}
		for {
			inner := l.value(depth + 1)
			switch inner {
			case nil, keyword(""):
				return nil
			case keyword("]"):
				return list
			}
			list = append(list, inner)
		}
	}
	// An object by reference: 12 0 R.
	if n, ok := v.(float64); ok && n >= 0 && n == math.Trunc(n) {
		back := l.at
		if l.next() == float64(0) && l.next() == keyword("R") {
			return reference(n)
		}
		l.at = back
	}
	return v
}

// kind is what a token of a PDF is.
type kind uint8

const (
	tokenBad kind = iota
	tokenEnd
	tokenNumber
	tokenName
	tokenText
	tokenWord
)

// token is a piece of a PDF, where it stands.
type token struct {
	kind   kind
	number float64
	word   []byte // of a name without its slash, of a text without its brackets
}

// next is the next token as a value: a number, a name, a text, or a word; the empty
// word is the end, nil is what is none of them.
func (l *lexer) next() any {
	switch t := l.token(); t.kind {
	case tokenEnd:
		return keyword("")
	case tokenNumber:
		return t.number
	case tokenName:
		return name(t.word)
	case tokenText:
		return text(t.word)
	case tokenWord:
		return keyword(t.word)
	}
	return nil
}

// token reads the next token.
func (l *lexer) token() token {
	data, at := l.data, l.at
	for at < len(data) && class[data[at]] == isBlank {
		at++
	}
	if at == len(data) {
		l.at = at
		return token{kind: tokenEnd}
	}
	start := at
	c := data[at]
	at++
	if class[c] == isDelimiter && c != '/' {
		l.at = at
		switch c {
		case '(':
			return l.text()
		case '<', '>':
			if at < len(data) && data[at] == c {
				l.at++
				return token{kind: tokenWord, word: data[start:l.at]}
			}
		case '[', ']':
			return token{kind: tokenWord, word: data[start:at]}
		}
		return token{}
	}
	for at < len(data) && class[data[at]] == isOther {
		at++
	}
	l.at = at
	word := data[start:at]
	switch {
	case c == '/':
		return token{kind: tokenName, word: word[1:]}
	case c >= '0' && c <= '9' || c == '-' || c == '.' || c == '+':
		if len(word) == 1 && c >= '0' {
			return token{kind: tokenNumber, number: float64(c - '0')}
		}
		if v, ok := numberOf(word); ok {
			return token{kind: tokenNumber, number: v}
		}
		return token{}
	}
	return token{kind: tokenWord, word: word}
}

// numberOf reads a number. Most are short, and without an exponent.
func numberOf(word []byte) (float64, bool) {
	if len(word) > 32 {
		return 0, false
	}
	digits, after, negative := int64(0), -1, false
	for i, c := range word {
		switch {
		case c >= '0' && c <= '9' && i < len(powers):
			digits = digits*10 + int64(c-'0')
			if after >= 0 {
				after++
			}
		case c == '.' && after < 0 && len(word) > 1:
			after = 0
		case c == '-' && i == 0 && len(word) > 1 && word[1] != '.':
			negative = true
		default:
			v, err := strconv.ParseFloat(string(word), 64)
			return v, err == nil && math.Abs(v) <= 1e10
		}
	}
	v := float64(digits)
	if after > 0 {
		v /= powers[after] // both are whole and below 2^53: the quotient is rounded once, as a parser rounds
	}
	if negative {
		v = -v
	}
	return v, v <= 1e10 && v >= -1e10
}

// powers are the powers of ten that stand behind a point in what is read the short way.
var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// text reads up to the bracket that closes; what is escaped stays as it is.
func (l *lexer) text() token {
	start, open := l.at, 1
	for ; l.at < len(l.data); l.at++ {
		switch l.data[l.at] {
		case '\\':
			l.at++
		case '(':
			open++
		case ')':
			if open--; open == 0 {
				l.at++
				return token{kind: tokenText, word: l.data[start : l.at-1]}
			}
		}
	}
	l.at = len(l.data)
	return token{}
}

const (
	isOther = iota
	isBlank
	isDelimiter
)

// class tells what ends a word (ISO 32000-1, 7.2.2).
var class = func() (of [256]uint8) {
	for _, c := range []byte(" \n\r\t\f\x00") {
		of[c] = isBlank
	}
	for _, c := range []byte("()<>[]{}/%") {
		of[c] = isDelimiter
	}
	return of
}()
