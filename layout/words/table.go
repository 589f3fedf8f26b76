package words

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"slotcard/fonts"
	"slotcard/plan/cells"
	"slotcard/plan/finding"
)

// A table of words is for somebody who speaks a language and knows the trade: the
// English, the translation, and how it is known, a row for each word. It is written
// by [WriteTable], corrected in a spreadsheet, and read by [ReadTable], however the
// spreadsheet saves it: CSV of any comma and any usual encoding, XLSX, ODS.

// placeholder is what stands in a word for a value.
var placeholder = regexp.MustCompile(`%[a-z]+%`)

// languageKey is the row that says which language it is.
const languageKey = "CardWords.Language"

// tag is the shape of a language's tag (BCP 47): a language, then script or region.
var tag = regexp.MustCompile(`^[a-z]{2,3}(-[A-Za-z0-9]{2,8}){0,2}$`)

// IsTag tells whether a word can be the tag of a language.
func IsTag(word string) bool { return tag.MatchString(word) }

// keyColumn is the column of a table that says which word a row is.
const keyColumn = "key"

// WriteTable writes the words of a language, in the order in which they are kept: of
// a language that slotcard does not speak with nothing in its column yet. It begins with
// a byte order mark, without which spreadsheets take accents for other characters
// (common practice).
func WriteTable(w io.Writer, language string) error {
	rows, err := csv.NewReader(strings.NewReader(wordsTable)).ReadAll()
	if err != nil {
		panic("layout: words.csv: " + err.Error()) // our own file
	}
	column := slices.Index(rows[0], language)
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	for i, row := range rows {
		said, how := "", ""
		switch {
		case i == 0:
			said, how = language, row[len(row)-1]
		case row[0] == languageKey:
			said, how = language, row[len(row)-1]
		case column > 0:
			said, how = row[column], row[len(row)-1]
		}
		if err := c.Write([]string{row[0], cells.AsText(row[1]), cells.AsText(said), how}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// Table is a language as a table says it.
type Table struct {
	Language *Language
	Tag      string
	Missing  []string // keys of words that it does not say: these are in the language as slotcard speaks it, else in English
	Spoken   bool     // slotcard speaks the language
}

// ReadTable reads a table of words: a column "key", and one that is called by the tag
// of the language; others are passed over. Each placeholder of the English stands in
// the translation, and no other, and a typeface has each character. The error joins
// everything that is wrong, each of which completes "FILE:". The file's name tells CSV
// from other text.
func ReadTable(data []byte, name string) (*Table, error) {
	book, err := cells.Read(data, name)
	if err != nil {
		return nil, err
	}
	sheet := book.Sheets[0]
	for _, s := range book.Sheets {
		if len(s.Rows) > 0 && slices.ContainsFunc(s.Rows[0].Cells, func(c cells.Cell) bool { return c.Text == keyColumn }) {
			sheet = s
			break
		}
	}
	if len(sheet.Rows) == 0 {
		return nil, errors.New("is no table of words: its first sheet is empty")
	}
	var head []string
	for _, c := range sheet.Rows[0].Cells {
		head = append(head, c.Text)
	}
	key, said, err := columnsOf(head)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", sheet.RowPlace(sheet.Rows[0].Number), err)
	}
	t := &Table{Tag: head[said]}
	base, spoken := Speak(t.Tag)
	if t.Spoken = spoken; !spoken {
		base, _ = Speak(languages[0])
	}
	english := EnglishWords()
	known := make([]string, 0, len(english))
	for k := range english {
		known = append(known, k)
	}
	slices.Sort(known)
	words, problems := tableRows(sheet, key, said, english, known)
	if len(words) == 0 && problems == nil {
		problems = append(problems, fmt.Errorf("has no word in its column %s", t.Tag))
	}
	if problems != nil {
		return nil, errors.Join(problems...)
	}
	copied := *base
	eachWord(reflect.ValueOf(&copied).Elem(), "", func(key string, word reflect.Value) {
		if s, ok := words[key]; ok {
			word.SetString(s)
		}
		if key == languageKey {
			word.SetString(t.Tag)
		}
	})
	t.Language = &copied
	for _, k := range known {
		if _, ok := words[k]; !ok && k != languageKey {
			t.Missing = append(t.Missing, k)
		}
	}
	return t, nil
}

// columnsOf are the columns of the keys and of the language.
func columnsOf(head []string) (key, said int, err error) {
	key, said = -1, -1
	for i, title := range head {
		switch title = strings.TrimSpace(title); {
		case title == keyColumn:
			key = i
		case title != languages[0] && IsTag(title) && title != "how":
			if said >= 0 {
				return 0, 0, fmt.Errorf("has two languages, %s and %s: leave one", head[said], title)
			}
			said = i
		}
	}
	if said < 0 {
		said = slices.Index(head, languages[0])
	}
	if key < 0 || said < 0 {
		return 0, 0, errors.New(`is no table of words: its first row names the columns, "key" and the language, such as "es"`)
	}
	return key, said, nil
}

// tableRows are the words of a table by their keys, and what is wrong with them.
func tableRows(sheet *cells.Sheet, key, said int, english map[string]string, known []string) (map[string]string, []error) {
	var problems []error
	words := map[string]string{}
	for _, row := range sheet.Rows[1:] {
		at := func(format string, args ...any) {
			problems = append(problems, fmt.Errorf("%s: "+format, append([]any{sheet.RowPlace(row.Number)}, args...)...))
		}
		if key >= len(row.Cells) || said >= len(row.Cells) || row.Cells[said].Text == "" {
			continue
		}
		k, text := row.Cells[key].Text, cells.FromText(row.Cells[said].Text)
		if english[k] == "" {
			help := ""
			if near := finding.Closest(k, known, 1); len(near) > 0 {
				help = "; did you mean " + near[0] + "?"
			}
			at("%q is no word of this table%s", k, help)
			continue
		}
		if _, twice := words[k]; twice {
			at("%s is there twice", k)
			continue
		}
		words[k] = text
		if problem := wrong(english[k], text); problem != "" {
			at("%s: %s", k, problem)
		}
	}
	return words, problems
}

// wrong is why a text cannot stand for an English one; "" where it can.
func wrong(english, text string) string {
	count := func(s string) map[string]int {
		n := map[string]int{}
		for _, p := range placeholder.FindAllString(s, -1) {
			n[p]++
		}
		return n
	}
	want, got := count(english), count(text)
	for _, p := range placeholder.FindAllString(english, -1) {
		if got[p] < want[p] {
			return p + " is missing, in place of which a value is put"
		}
	}
	for _, p := range placeholder.FindAllString(text, -1) {
		if want[p] < got[p] {
			if want[p] == 0 {
				return p + " is not filled in here"
			}
			return p + " is there too often"
		}
	}
	for _, c := range text {
		if !fonts.Prints(c) {
			if unicode.IsPrint(c) {
				return fmt.Sprintf("no typeface of the paper has %q (%U)", c, c)
			}
			return fmt.Sprintf("no typeface of the paper has %U", c)
		}
	}
	return ""
}
