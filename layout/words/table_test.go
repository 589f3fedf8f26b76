package words_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"

	"slotcard/layout/words"
)

// tableOf is the table of a language as rows.
func tableOf(t *testing.T, language string) [][]string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, words.WriteTable(&b, language))
	text, marked := strings.CutPrefix(b.String(), "\ufeff")
	assert.True(t, marked, "a spreadsheet takes it for another encoding")
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	return rows
}

// saved are rows as spreadsheets save them (common practice): by the comma of the
// country, in its encoding, with what it writes at the ends of lines.
func saved(t *testing.T, rows [][]string) map[string][]byte {
	t.Helper()
	text := func(comma, end string, quoted bool) string {
		var b strings.Builder
		for _, row := range rows {
			for i, cell := range row {
				if i > 0 {
					b.WriteString(comma)
				}
				if quoted || strings.ContainsAny(cell, comma+"\"\n") {
					cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
				}
				b.WriteString(cell)
			}
			b.WriteString(end)
		}
		return b.String()
	}
	wide := func(s string) []byte {
		b := []byte{0xff, 0xfe}
		for _, u := range utf16.Encode([]rune(s)) {
			b = append(b, byte(u), byte(u>>8))
		}
		return b
	}
	narrow, err := encoding.ReplaceUnsupported(charmap.Windows1252.NewEncoder()).String(text(";", "\r\n", false))
	require.NoError(t, err)
	book := excelize.NewFile()
	defer book.Close()
	for i, row := range rows {
		require.NoError(t, book.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row))
	}
	var packed bytes.Buffer
	require.NoError(t, book.Write(&packed))
	return map[string][]byte{
		"commas, as it was written":            []byte(text(",", "\n", false)),
		"semicolons, mark, CR LF":              []byte("\ufeff" + text(";", "\r\n", false)),
		"semicolons, all quoted":               []byte(text(";", "\r\n", true)),
		"commas, mark, CR LF, all quoted":      []byte("\ufeff" + text(",", "\r\n", true)),
		"semicolons in Windows-1252":           []byte(narrow),
		"tabs in UTF-16":                       wide(text("\t", "\r\n", false)),
		"a workbook, under the name of a CSV":  packed.Bytes(),
		"semicolons, the comma in a first row": []byte("sep=;\r\n" + text(";", "\r\n", false)),
	}
}

// However a spreadsheet saves the table, it is read as it stands: nothing is missing,
// and a corrected word stands on every paper that has it.
func TestTableOfASpreadsheet(t *testing.T) {
	for _, language := range words.Languages()[1:] {
		spoken, _ := words.Speak(language)
		for how, data := range saved(t, tableOf(t, language)) {
			table, err := words.ReadTable(data, language+".csv")
			require.NoError(t, err, how)
			assert.Equal(t, language, table.Tag, how)
			assert.Empty(t, table.Missing, how)
			assert.True(t, reflect.DeepEqual(spoken, table.Language), "%s, %s: what nobody corrected is another", language, how)
		}
	}
	rows := tableOf(t, "es")
	const corrected = `ÉL "HABLA"; sí, aquí`
	for _, row := range rows {
		if row[0] == "CardWords.Talk" {
			row[2] = corrected
		}
	}
	for how, data := range saved(t, rows) {
		table, err := words.ReadTable(data, "es.csv")
		require.NoError(t, err, how)
		assert.Equal(t, corrected, table.Language.Card.Talk, how)
		assert.Equal(t, corrected, table.Language.Strips.Talk, how)
		assert.Equal(t, "RASTREO", table.Language.Card.Scan, how)
	}
}

// Rows that were deleted, or emptied, are named: each, and nothing else.
func TestTableSaysWhatIsMissing(t *testing.T) {
	rows := tableOf(t, "es")
	var kept [][]string
	for i, row := range rows {
		switch {
		case i%40 == 7:
			continue // deleted
		case i%40 == 8:
			row[2] = " "
		}
		kept = append(kept, row)
	}
	for how, data := range saved(t, kept) {
		table, err := words.ReadTable(data, "es.csv")
		require.NoError(t, err, how)
		var want []string
		for i, row := range rows {
			if i%40 == 7 || i%40 == 8 {
				want = append(want, row[0])
			}
		}
		assert.ElementsMatch(t, want, table.Missing, how)
	}
	// Where a spreadsheet left its rows is named as the spreadsheet numbers them.
	for _, row := range kept {
		if row[0] == "CardWords.Talk" {
			row[2] = "火"
		}
	}
	all := saved(t, kept)
	_, err := words.ReadTable(all["semicolons, mark, CR LF"], "es.csv")
	require.ErrorContains(t, err, "line 3: CardWords.Talk: no typeface of the paper has '火'")
	_, err = words.ReadTable(all["a workbook, under the name of a CSV"], "es.csv")
	require.ErrorContains(t, err, "sheet Sheet1, row 3: CardWords.Talk: ")
}
