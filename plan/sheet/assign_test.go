package sheet_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"slotcard/plan/sheet"
)

// Assignments as people write them (common practice): what is understood, and
// what names a division, a branch or a group and is left to decide.
func TestAssignments(t *testing.T) {
	const titles = "Channel Name;Assignment;RX Freq;TX Tone\n"
	for _, c := range []struct{ text, want string }{
		{"Division A", `"A"`}, {"Div. A", `"A"`}, {"DIV A", `"A"`}, {"A", `"A"`}, {"Div-A", `"A"`}, {"DivA", `"A"`}, {"division a", `"A"`},
		{"Division Alpha", `"A"`}, {"Div Zulu", `"Z"`}, {"A Division", `"A"`}, {"Division AA", `"AA"`}, {"Division: A", `"A"`}, {"Division 1", `"1"`},
		{"Div. C/Left flank", `"C"`}, {"Div C - Left flank", `"C"`}, {"Division C (Left flank)", `"C"`}, {"Left flank, Div C", `"C"`}, {"Left Flank (Div C)", `"C"`}, {"Right flank / Z", `"Z"`}, {"Z (right flank)", `"Z"`}, {"Tac for Div A", `"A"`},
		{"Branch II Div Z", `"Z"`}, {"Branch II / Div Z", `"Z"`}, {"Br II, Div Z", `"Z"`}, {"Branch 1, Division D", `"D"`}, {"Div Z, Branch II", `"Z"`},
		{"Division A & B", `["A", "B"]`}, {"DIV A, B", `["A", "B"]`}, {"A/B", `["A", "B"]`}, {"Div A/B", `["A", "B"]`}, {"Divs A, B and C", `["A", "B", "C"]`},
		{"Div A and Div B", `["A", "B"]`}, {"Div's A & B", `["A", "B"]`}, {"Divisions A, B, C", `["A", "B", "C"]`}, {"A B", `["A", "B"]`}, {"Div A+B", `["A", "B"]`},
		{"DIVS A,B", `["A", "B"]`}, {"A & B Divisions", `["A", "B"]`}, {"Div Alpha & Bravo", `["A", "B"]`},
		{"Div A-D", `["A", "B", "C", "D"]`}, {"Divs. A thru D", `["A", "B", "C", "D"]`}, {"Divisions A through D", `["A", "B", "C", "D"]`}, {"Div A to C", `["A", "B", "C"]`}, {"A-C", `["A", "B", "C"]`},
		{"Structure Group", `"STR"`}, {"Structure Protection Group", `"SP"`}, {"Group SP", `"SP"`}, {"SP Group", `"SP"`}, {"Structure Protection Grp.", `"SP"`},
		{"Functional group SP", `"SP"`}, {"Group 1A", `"1A"`}, {"Grp Structure Protection", `"SP"`}, {"Division A; Structure Group", `["A", "STR"]`},
		{"Division A; Functional group SP", `["A", "SP"]`}, {"Div A tac", `"A"`}, {"Division A only", `"A"`}, {"Div. A resources", `"A"`},
		{"All divisions", ""}, {"All", ""}, {"Incident wide", ""}, {"-", ""}, {"Air operations", ""}, {"Base camp", ""}, {"IC", ""}, {"Div SP", `"SP"`},
		{"Branch II", "?"}, {"All but Div C", "?"}, {"Div C until 1400, then Div D", "?"}, {"Div Y-B", "?"}, {"Div A or B", "?"}, {"Division", "?"}, {"not Div A", "?"},
		{"Division supervisors", "?"}, {"Div A/B break", "?"}, {"Group", "?"}, {"Divisions?", "?"}, {"N flank", "?"}, {"Left flank / N", "?"}, {"Div A near Div B", "?"}, {"Div ?", "?"},
	} {
		d := read(t, titles+"VFIRE21;"+strings.ReplaceAll(c.text, ";", ",")+";154.28;156.7\n").Draft(settled("load.toml"))
		_, text, _ := strings.Cut(string(d.TOML), "[[slot]]\n")
		text, _, _ = strings.Cut(text, "\n\n")
		_, got, _ := strings.Cut(text, "division = ")
		want := c.want
		if want == "?" {
			want = `"` + c.text + `"`
			if assert.Len(t, d.Open, 1, c.text) {
				assert.Contains(t, d.Open[0].What, "the assignment is not understood")
			}
			_, said := asPlan(t, d.TOML)
			assert.Contains(t, strings.Join(said, "\n"), "[unknown-division]", c.text)
		} else {
			assert.Empty(t, d.Open, c.text)
		}
		assert.Equal(t, want, got, c.text)
	}
}

// Words of a sentence are no division's name.
func TestAssignmentNames(t *testing.T) {
	for text, name := range map[string]string{"Tac for Div A": "", "Div A talks here": "", "Div A/Left flank": "Left flank", "Div A Pine Ridge": "Pine Ridge", "left flank / A": "left flank"} {
		d := read(t, "Channel Name;Assignment;RX Freq;TX Tone\nVFIRE21;"+text+";154.28;156.7\n").Draft(settled("load.toml"))
		_, after, found := strings.Cut(string(d.TOML), "\nname       = \"")
		got, _, _ := strings.Cut(after, "\"")
		assert.Equal(t, name != "", found, text)
		assert.Equal(t, name, got, text)
	}
}

// settled are options that leave nothing of the incident open.
func settled(load string) sheet.Options {
	return sheet.Options{LoadPath: load, Name: "x", Period: 1, From: "2027-08-14T06:00Z", To: "2027-08-14T18:00Z", PreparedAt: "2027-08-14T05:00Z", PreparedBy: "x"}
}

// A draft that the checks would not read to its end is refused.
func TestTooLarge(t *testing.T) {
	var b strings.Builder
	b.WriteString("Channel Name;Assignment;RX Freq;TX Tone\n")
	for i := range sheet.MaxRows {
		fmt.Fprintf(&b, "VFIRE21;Thing %c%c Other %c Group, Some %c%c Further Group;154.28;156.7\n", 'A'+i%26, 'A'+i/26, 'A'+i%25, 'A'+i/25, 'A'+i%26)
	}
	assert.ErrorContains(t, read(t, b.String()).Draft(settled("load.toml")).TooLarge(), "more than 300 [[division]] entries")
	assert.NoError(t, read(t, "Channel Name;RX Freq;TX Tone\nVFIRE21;154.28;156.7\n").Draft(settled("load.toml")).TooLarge())
}
