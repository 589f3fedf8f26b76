package plan

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
	"golang.org/x/text/unicode/runenames"

	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

// texts brings every string below the struct that v points to into one form
// (Unicode NFC, no space at the ends), and reports what cannot be printed and
// what is empty but needed. Display names keep their spaces: those are reported.
func (r *reader) texts(v any) { r.tableTexts(reflect.ValueOf(v).Elem()) }

func (r *reader) tableTexts(v reflect.Value) {
	place, ok := v.FieldByName("Table").Interface().(tomlfile.Table)
	if !ok {
		panic("plan: a table without place")
	}
	for _, field := range tomlfile.Fields(v.Type()) {
		value := field.Of(v)
		switch x := value.Addr().Interface().(type) {
		case *string:
			if field.Key == "load" || field.Key == "base" || !place.OK(field.Key) { // a path is not ours to change
				if path := field.Key; path == "load" || path == "base" {
					r.needed(place.At(path), path, *x, place.OK(path), emptyHelp[path])
				}
				continue
			}
			switch {
			case field.Key == "name" && v.Type() == reflect.TypeFor[Channel]():
				*x = onPaper.Replace(norm.NFC.String(*x)) // displayName says the rest
				if utf8.RuneCountInString(*x) > maxText {
					*x = r.tooLong(place.At(field.Key), field.Key, *x, maxText)
				}
			default:
				at := func(c rune) finding.Place { return place.AtText(field.Key, string(c)) }
				*x = r.text(at, place.Written(field.Key), *x, field.Key == "instructions", field.Key == "channel")
			}
			r.needed(place.At(field.Key), place.Written(field.Key), *x, field.Required || field.Key == "channel", emptyHelp[field.Key])
		case *[]string:
			if !place.OK(field.Key) {
				continue
			}
			for i := range *x {
				at := place.AtItem(field.Key, i)
				(*x)[i] = r.text(always(at), field.Key, (*x)[i], false, true)
				r.needed(at, field.Key, (*x)[i], true, emptyItem)
			}
		case *Names:
			if !place.OK(field.Key) {
				continue
			}
			for i := range *x {
				at := place.AtItem(field.Key, i)
				(*x)[i] = r.text(always(at), field.Key, (*x)[i], false, false)
				r.needed(at, field.Key, (*x)[i], true, emptyItem)
			}
		case *Seats:
			if !place.OK(field.Key) {
				continue
			}
			for i := range *x {
				at := place.AtItem(field.Key, i)
				(*x)[i].Position = r.text(always(at), field.Key, (*x)[i].Position, false, false)
				r.needed(at, field.Key, (*x)[i].Position, true, emptyItem)
				r.lookAlike(at, field.Key, (*x)[i].Position, (*x)[i].Position, false)
			}
		default:
			switch {
			case value.Kind() == reflect.Struct && value.FieldByName("Table").IsValid():
				r.tableTexts(value)
			case value.Kind() == reflect.Slice && value.Type().Elem().Kind() == reflect.Pointer:
				for i := range value.Len() {
					r.tableTexts(value.Index(i).Elem())
				}
			}
		}
	}
}

// emptyHelp is what to do about an empty text of a key; of the others: write it,
// for they must be there.
var emptyHelp = map[string]string{
	"base":    "write it, or delete the key where there is no station file",
	"channel": "write the display name, or name the channel in another way: by group and number, or by rx",
}

const emptyItem = "write it, or delete it from the list"

func (r *reader) needed(at finding.Place, key, s string, need bool, help string) {
	if need && s == "" {
		r.fault(at, RuleEmptyText, "", key+" is empty", cmp.Or(help, "write it"))
	}
}

// onPaper are characters that typefaces lack but that have a twin which looks
// the same.
var onPaper = strings.NewReplacer("\u2011", "-", "\u00b5", "\u03bc")

func always(at finding.Place) func(rune) finding.Place {
	return func(rune) finding.Place { return at }
}

// How many characters a text may have: far more than any card or sheet has room
// for. Our choice.
const (
	maxText  = 500
	maxLines = 10_000 // of a text of several lines
)

// tooLong reports a text, and returns as much of it as other findings may quote.
func (r *reader) tooLong(at finding.Place, key, s string, most int) string {
	runes := []rune(s)
	r.fault(at, tomlfile.RuleBadValue, "", fmt.Sprintf("%s has %d characters; up to %d are possible", key, len(runes), most), "shorten it: paper has no room for more")
	return string(runes[:most])
}

// text is s as it is stored; characters that paper cannot show are reported where
// at says.
func (r *reader) text(at func(rune) finding.Place, key, s string, lines, spaces bool) string {
	s = onPaper.Replace(norm.NFC.String(s))
	if !spaces {
		s = strings.TrimSpace(s)
	}
	most := maxText
	if lines {
		most = maxLines
	}
	if utf8.RuneCountInString(s) > most {
		return r.tooLong(at(0), key, s, most)
	}
	reported := map[rune]bool{}
	for _, c := range s {
		if c >= ' ' && c <= '~' || reported[c] || lines && c == '\n' {
			continue
		}
		if lines && c == '\r' { // of CR LF in a text of several lines
			continue
		}
		if why, help := r.unprintable(c); why != "" {
			reported[c] = true
			place := at(c)
			f := r.fault(place, RuleUnprintable, "", fmt.Sprintf("%s has %s, %s", key, runeName(c), why))
			if place.Length == 1 && help == deleteIt {
				f.Offer(edit.In(r.file.Root()).Write(place, "").Edit(help))
			} else {
				f.Help = []string{help}
			}
		}
	}
	if lines {
		s = strings.ReplaceAll(s, "\r\n", "\n")
	}
	return s
}

const deleteIt = "delete it"

// unprintable tells why a character cannot reach paper; "" where it can.
func (r *reader) unprintable(c rune) (why, help string) {
	switch {
	case c == '\n' || c == '\r':
		return "a line break", "write it in one line; only instructions may have several"
	case c == '\t':
		return "which paper does not show", "write spaces"
	case unicode.Is(unicode.Bidi_Control, c):
		return "which can hide what is written", deleteIt
	case unicode.IsControl(c), unicode.Is(unicode.Cf, c):
		return "which cannot be seen on paper", deleteIt
	case unicode.Is(unicode.Mn, c), unicode.Is(unicode.Me, c):
		return "a mark that cannot be joined with the letter before it", "write the letter without it"
	case c > 0xffff, unicode.Is(unicode.Co, c), unicode.Is(unicode.Zl, c), unicode.Is(unicode.Zp, c),
		r.options.Prints != nil && !r.options.Prints(c):
		return "which the typeface of cards and sheets does not have", "write it in other characters"
	}
	return "", ""
}

// runeName is a character with its number and name, such as
// "А (U+0410, Cyrillic capital letter a)".
func runeName(c rune) string {
	name := strings.ToLower(runenames.Name(c))
	for _, script := range []string{"cyrillic", "greek", "latin", "hebrew", "arabic", "armenian"} {
		if rest, ok := strings.CutPrefix(name, script+" "); ok {
			name = strings.ToUpper(script[:1]) + script[1:] + " " + rest
		}
	}
	number := fmt.Sprintf("U+%04X", c)
	switch {
	case !unicode.IsGraphic(c) || unicode.IsSpace(c) || unicode.Is(unicode.M, c):
		if name == "" || strings.HasPrefix(name, "<") {
			return "the character " + number
		}
		return "the character " + number + " (" + name + ")"
	case name == "" || strings.HasPrefix(name, "<"):
		return string(c) + " (" + number + ")"
	}
	return string(c) + " (" + number + ", " + name + ")"
}

// displayName reports what a radio's display cannot show as it is written.
func (r *reader) displayName(t tomlfile.Table, key, s string) {
	if !t.OK(key) || s == "" {
		return
	}
	at := t.At(key)
	named := func(name string) finding.Edit {
		return edit.In(t).Set(t, key, name).Edit("write " + strconv.Quote(name))
	}
	for _, c := range s {
		if c < ' ' || c > '~' {
			message := fmt.Sprintf("display name %q has %s, which a radio's display cannot show", s, runeName(c))
			help := "write it in letters, digits and signs of plain ASCII"
			if twin, ok := latinTwin[c]; ok {
				help = "write the Latin letter " + string(twin)
			}
			r.fault(at, RuleDisplayName, s, message, help)
			break
		}
	}
	if strings.TrimSpace(s) != s {
		r.fault(at, RuleDisplayName, s, fmt.Sprintf("display name %q has a space at its end or beginning", s)).
			Offer(named(strings.TrimSpace(s)))
	}
	if strings.Contains(strings.TrimSpace(s), "  ") {
		r.fault(at, RuleDisplayName, s, fmt.Sprintf("display name %q has two spaces in a row", s)).
			Offer(named(strings.Join(strings.Fields(s), " ")))
	}
}

// ascii reports text of the scanned list that is not printable ASCII.
func (r *reader) ascii(t tomlfile.Table, key, s string) {
	if !t.OK(key) {
		return
	}
	for _, c := range s {
		if c > '~' {
			r.fault(t.At(key), RuleASCII, "", fmt.Sprintf("%s has %s, which a scanned list cannot hold", key, runeName(c)), "write it in letters, digits and signs of plain ASCII")
			return
		}
	}
}

// maxID is how long an id may be: it is spoken, and printed large.
const maxID = 12

// divisionID reports an id that cannot stand in a list text.
func (r *reader) divisionID(t tomlfile.Table, id string) {
	if r.lookAlike(t.At("id"), "id", id, id, true) {
		return
	}
	const help = "write a letter or a short word; name can say more"
	for _, c := range id {
		if c <= ' ' || c > '~' || strings.ContainsRune(",:=", c) {
			what := runeName(c)
			if c == ' ' {
				what = "a space"
			}
			r.fault(t.At("id"), RuleDivisionID, id, fmt.Sprintf("division id %q has %s, which a scanned list cannot hold", id, what), help)
			return
		}
	}
	if len(id) > maxID {
		r.fault(t.At("id"), RuleDivisionID, id, fmt.Sprintf("division id %q is longer than %d characters", id, maxID), help)
	}
}

// latinTwin are letters that cannot be told from a Latin one in print. From
// memory of the confusables of Unicode Technical Standard 39; only single letters.
var latinTwin = func() map[rune]rune {
	twins := map[rune]rune{}
	for _, from := range [][2]string{
		{"АВЕЅІЈКМНОРСТУХаеорсухѕіјԁԛԝһ", "ABESIJKMHOPCTYXaeopcyxsijdqwh"},
		{"ΑΒΕΖΗΙΚΜΝΟΡΤΥΧον", "ABEZHIKMNOPTYXov"},
	} {
		to := []rune(from[1])
		for j, c := range []rune(from[0]) {
			twins[c] = to[j]
		}
	}
	return twins
}()

// latin puts the Latin twins in place of all letters at a place.
func (r *reader) latin(at finding.Place, title string) finding.Edit {
	source := []rune(at.Text)
	from := max(0, at.Column-1)
	to := min(from+at.Length, len(source))
	if from > to {
		return unless(title)
	}
	text := strings.Map(func(c rune) rune {
		if twin, ok := latinTwin[c]; ok {
			return twin
		}
		return c
	}, string(source[from:to]))
	return edit.In(r.file.Root()).Write(at, text).Edit(title)
}

// lookAlike reports a letter of another script that looks like a Latin one: in
// an id always, in a name where Latin letters stand beside it in one word.
func (r *reader) lookAlike(at finding.Place, key, s, subject string, id bool) bool {
	for _, word := range strings.Fields(s) {
		latin := strings.ContainsFunc(word, func(c rune) bool { return unicode.Is(unicode.Latin, c) })
		for _, c := range word {
			if twin, ok := latinTwin[c]; ok && (id || latin) {
				name := runeName(c)
				r.findings = slices.DeleteFunc(r.findings, func(f finding.Finding) bool { // said better here
					return f.Rule == RuleUnprintable && f.Place.Line == at.Line && strings.Contains(f.Message, name)
				})
				f := r.fault(at, RuleLookAlike, subject, fmt.Sprintf("%s %q has %s, which looks like the Latin %c", key, s, name, twin))
				f.Offer(r.latin(at, fmt.Sprintf("write the Latin letter %c", twin)))
				return true
			}
		}
	}
	return false
}
