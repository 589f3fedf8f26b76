package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"slotcard/cmd/internal/voice"
	"slotcard/plan/channellist"
	"slotcard/render/rendertest"
)

var sevenAnswers = []string{"--name", "Quillback", "--edition", "2027", "--color", "orange", "--effective", "2027-03-01", "--expires", "2028-03-31",
	"--list-positions", "16", "--edition-channel", "QB TRAV 27"}

// The book of an imported load beside the sheet: on one line of the PDF, as
// another engine reads it, stand the name, the frequencies and the tones of each
// row of the sheet, as a library of spreadsheets reads it.
func TestBookOfAnImportedLoad(t *testing.T) {
	sheet, err := filepath.Abs("../../testdata/lists/quillback.xlsx")
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	said, status := slotcard(append([]string{"import", sheet, "-o", "load.toml"}, sevenAnswers...)...)
	require.Equal(t, exitFine, status, said)
	said, status = slotcard("print", "--pages", "load.toml")
	require.Equal(t, exitFine, status, said)
	pdf, err := os.ReadFile("out/book.pdf")
	require.NoError(t, err)
	lines := linesOf(rendertest.Open(t, pdf))

	f, err := excelize.OpenFile(sheet)
	require.NoError(t, err)
	defer func() { _ = f.Close() }()
	channels := 0
	for _, name := range f.GetSheetList() {
		rows, err := f.GetRows(name)
		require.NoError(t, err)
		if len(rows[0]) > 1 { // sites and tones have no line above their titles
			continue
		}
		for _, row := range rows[3:] {
			channels++
			at := func(i int) string {
				if i < len(row) {
					return row[i]
				}
				return ""
			}
			var want []string
			if at(3) != "" {
				want = append(want, inMHz(t, at(3)))
			}
			if tx := at(5); tx != "" && tx != "RX only" && tx != at(3) {
				want = append(want, inMHz(t, tx))
			}
			if at(3) != "" {
				want = append(want, tonesInBook(at(4), at(6)))
			}
			assert.True(t, hasLine(lines, at(1), want), "%s: no line of the book has %q", at(1), want)
		}
	}
	assert.Equal(t, 120, channels)
}

// linesOf are the texts that stand on one baseline, page by page.
func linesOf(doc *rendertest.Doc) [][]string {
	var lines [][]string
	for page := range doc.Pages() {
		at := map[string]int{}
		for _, r := range doc.Text(page) {
			key := fmt.Sprintf("%.1f", r.Baseline)
			i, ok := at[key]
			if !ok {
				i = len(lines)
				at[key], lines = i, append(lines, nil)
			}
			lines[i] = append(lines[i], r.S)
		}
	}
	return lines
}

func hasLine(lines [][]string, name string, want []string) bool {
	for _, line := range lines {
		text := strings.Join(line, "|") + "|"
		found := strings.Contains(text, name+"|")
		for _, w := range want {
			found = found && strings.Contains(text, w)
		}
		if found {
			return true
		}
	}
	return false
}

// inMHz is a number of the sheet with four decimals, as the book has it.
func inMHz(t *testing.T, cell string) string {
	var mhz float64
	_, err := fmt.Sscan(cell, &mhz)
	require.NoError(t, err)
	return fmt.Sprintf("%.4f", mhz)
}

func tonesInBook(rx, tx string) string {
	text := func(s string) string {
		switch {
		case s == "CSQ":
			return "-"
		case s == "SITE":
			return "site"
		case !strings.Contains(s, ".") && strings.Trim(s, "0123456789") == "":
			return s + ".0" // a spreadsheet drops the zero
		}
		return s
	}
	return text(rx) + "/" + text(tx)
}

// What is asked on a terminal, and what is answered.
func TestAsking(t *testing.T) {
	for _, c := range []struct {
		typed string
		want  channellist.Answers
		says  string
	}{
		{"Quillback\n2027\norange\n2027-03-01\n2028-03-31\nQB TRAV 27\n16\n", channellist.Answers{Name: "Quillback", Edition: "2027", Color: "orange",
			Effective: "2027-03-01", Expires: "2028-03-31", EditionChannel: "QB TRAV 27", ListPositions: 16}, ""},
		{"\n\n\n\n\n\n\n", channellist.Answers{}, ""},
		{"\n\n\n3/1/2027\n2027-03-01\n\nQB TRAV\n\nmany\n16", channellist.Answers{Effective: "2027-03-01", ListPositions: 16},
			`"3/1/2027" is no day; write it such as 2027-03-01`},
		{"", channellist.Answers{}, ""},
	} {
		var said bytes.Buffer
		list := &channellist.List{Groups: []*channellist.Group{{Channels: []*channellist.Channel{{Name: "QB TRAV 27"}}}}}
		k := &asker{context.Background(), bufio.NewReader(strings.NewReader(c.typed)), voice.New(io.Discard, &said)}
		var got channellist.Answers
		require.NoError(t, k.answers(&got, list, false))
		assert.Equal(t, c.want, got)
		assert.Contains(t, said.String(), c.says)
	}
	k := &asker{context.Background(), bufio.NewReader(strings.NewReader("2028\nblue\n2028-03-01\n2029-03-31\n")), voice.New(io.Discard, io.Discard)}
	since := channellist.Answers{Name: "Quillback", ListPositions: 16}
	require.NoError(t, k.answers(&since, new(channellist.List), true))
	assert.Equal(t, channellist.Answers{Name: "Quillback", Edition: "2028", Color: "blue", Effective: "2028-03-01", Expires: "2029-03-31", ListPositions: 16}, since)
	for typed, want := range map[string]bool{"\n": true, "yes\n": true, "what\nno\n": false, "N": false} {
		k := &asker{context.Background(), bufio.NewReader(strings.NewReader(typed)), voice.New(io.Discard, io.Discard)}
		got, err := k.yes("is it right?")
		require.NoError(t, err)
		assert.Equal(t, want, got, typed)
	}
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	never, _ := io.Pipe()
	k = &asker{stopped, bufio.NewReader(never), voice.New(io.Discard, io.Discard)}
	_, err := k.yes("is it right?")
	assert.ErrorIs(t, err, context.Canceled)
}

// BenchmarkImport is the command with 120 channels in 11 sheets: read, mapped,
// written, checked.
func BenchmarkImport(b *testing.B) {
	sheet, err := filepath.Abs("../../testdata/lists/quillback.xlsx")
	require.NoError(b, err)
	b.Chdir(b.TempDir())
	for b.Loop() {
		if said, status := slotcard(append([]string{"import", sheet, "-o", "load.toml", "--force"}, sevenAnswers...)...); status != exitFine {
			b.Fatal(said)
		}
	}
}
