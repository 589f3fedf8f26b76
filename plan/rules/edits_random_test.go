package rules_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/plan"
	"slotcard/plan/finding"
)

// slips are what people do to a line of a file.
var slips = map[string]func(t *rapid.T, line string) string{
	"letter left out": func(t *rapid.T, s string) string {
		i := rapid.IntRange(0, max(0, len(s)-1)).Draw(t, "at")
		return s[:i] + s[min(i+1, len(s)):]
	},
	"letters swapped": func(t *rapid.T, s string) string {
		if len(s) < 2 {
			return s
		}
		i := rapid.IntRange(0, len(s)-2).Draw(t, "at")
		return s[:i] + s[i+1:i+2] + s[i:i+1] + s[i+2:]
	},
	"capital":       func(_ *rapid.T, s string) string { return strings.ToUpper(s[:min(1, len(s))]) + s[min(1, len(s)):] },
	"no quotes":     func(_ *rapid.T, s string) string { return strings.ReplaceAll(s, `"`, "") },
	"curly quotes":  func(_ *rapid.T, s string) string { return opening.ReplaceAllString(s, "“$1”") },
	"half a quote":  func(_ *rapid.T, s string) string { return strings.TrimSuffix(s, `"`) },
	"quotes":        func(_ *rapid.T, s string) string { return number.ReplaceAllString(s, `= "$1"`) },
	"decimal comma": func(_ *rapid.T, s string) string { return strings.Replace(s, ".", ",", 1) },
	"twice":         func(_ *rapid.T, s string) string { return s + "\n" + s },
	"gone":          func(*rapid.T, string) string { return "" },
	"no bracket":    func(_ *rapid.T, s string) string { return strings.TrimSuffix(s, "]") },
	"fewer bracket": func(_ *rapid.T, s string) string { return strings.TrimSuffix(strings.TrimPrefix(s, "["), "]") },
	"no offset":     func(_ *rapid.T, s string) string { return strings.TrimSuffix(s, "-06:00") },
	"control":       func(_ *rapid.T, s string) string { return s + "\x01" },
}

var (
	opening = regexp.MustCompile(`"([^"]*)"`)
	number  = regexp.MustCompile(`= ([0-9.]+)$`)
)

// slots moves one [[slot]] of a plan to another place.
func swapSlots(t *rapid.T, text string) string {
	parts := strings.Split(text, "[[slot]]\n")
	n := len(parts) - 1
	last, rest, _ := strings.Cut(parts[n], "\n\n")
	parts[n] = last + "\n"
	i, j := rapid.IntRange(1, n).Draw(t, "slot"), rapid.IntRange(1, n).Draw(t, "slot")
	parts[i], parts[j] = parts[j], parts[i]
	return strings.Join(parts, "[[slot]]\n") + "\n" + rest
}

// Follow the help on sound plans with faults in them: each edit that is offered is
// made, the finding is gone, and no other stands in its place.
func TestEachEditOfASeededFaultMendsIt(t *testing.T) {
	sound := filepath.Join("..", "..", "testdata", "sound")
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(sound, name))
		require.NoError(t, err)
		return string(text)
	}
	texts := map[string]string{"plan.toml": read("plan.toml"), "load.toml": read("load.toml")}
	names := make([]string, 0, len(slips))
	for name := range slips {
		names = append(names, name)
	}
	slices.Sort(names)
	offered, rulesOf := 0, map[string]bool{}
	rapid.Check(t, func(t *rapid.T) {
		now := map[string]string{"plan.toml": texts["plan.toml"], "load.toml": texts["load.toml"]}
		faults := rapid.SampledFrom([]int{1, 1, 1, 2, 3}).Draw(t, "faults")
		for range faults {
			file := rapid.SampledFrom([]string{"plan.toml", "plan.toml", "load.toml"}).Draw(t, "file")
			slip := rapid.SampledFrom(append([]string{"slots"}, names...)).Draw(t, "slip")
			if slip == "slots" {
				now["plan.toml"] = swapSlots(t, now["plan.toml"])
				continue
			}
			lines := strings.Split(now[file], "\n")
			i := rapid.IntRange(0, len(lines)-1).Draw(t, "line")
			lines[i] = slips[slip](t, lines[i])
			now[file] = strings.Join(lines, "\n")
		}
		o := plan.Options{ReadFile: func(name string) ([]byte, error) {
			text, ok := now[name]
			if !ok {
				return nil, fmt.Errorf("%s: %w", name, os.ErrNotExist)
			}
			return []byte(text), nil
		}}
		found, err := opened("plan.toml", o)
		if err != nil {
			return
		}
		for _, f := range found {
			for _, e := range f.Edits {
				offered++
				rulesOf[f.Rule] = true
				assert.Contains(t, f.Help, e.Title)
				seededHolds(t, o, found, f, e)
			}
		}
	})
	t.Logf("%d edits of %d rules", offered, len(rulesOf))
	assert.Greater(t, offered, 10)
	assert.Greater(t, len(rulesOf), 3)
}

// seededHolds is holdsPromise for files with several faults: while the text is at
// fault the rest is not looked at, so what an edit of it brings to light on other
// lines is no finding in its place.
func seededHolds(t *rapid.T, o plan.Options, all finding.List, f finding.Finding, e finding.Edit) {
	after, err := opened("plan.toml", edited(t, o, e))
	require.NoError(t, err)
	count := map[string]int{}
	for _, b := range all {
		count[b.Rule+" "+b.Subject]++
	}
	count[f.Rule+" "+f.Subject]--
	// While the text or a name is wrong, rules that need the whole hold their peace:
	// what they say afterwards, of other lines, comes to light and stands in no place.
	ofText := slices.Contains(strings.Fields("syntax encoding duplicate-key unknown-key key-case wrong-type bad-value no-offset "+
		"unknown-channel unknown-site unknown-tone no-site site-not-carrying unknown-division unknown-position"), f.Rule)
	for _, left := range after {
		key := left.Rule + " " + left.Subject
		if count[key]--; count[key] >= 0 || left.Severity < finding.Warning {
			continue
		}
		same := slices.ContainsFunc(e.Changes, func(c finding.Change) bool {
			return c.File == left.Place.File && c.From.Line <= left.Place.Line && left.Place.Line <= c.To.Line
		})
		if !ofText || same {
			assert.Fail(t, "another finding stands in its place", "%s\n%s\nbrings %s", f, e.Title, left)
		}
	}
}
