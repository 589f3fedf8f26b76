package rules_test

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/edit"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// opened is what a file and its load are found to be: of a plan or of a load.
func opened(name string, o plan.Options) (finding.List, error) {
	data, err := o.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if plan.IsLoad(data) {
		_, found, err := rules.OpenLoad(name, o)
		return found, err
	}
	_, found, err := rules.Open(name, o)
	return found, err
}

// edited reads files with an edit made in them.
func edited(t require.TestingT, o plan.Options, e finding.Edit) plan.Options {
	byFile := map[string][]finding.Change{}
	for _, c := range e.Changes {
		byFile[c.File] = append(byFile[c.File], c)
	}
	texts := map[string][]byte{}
	for name, changes := range byFile {
		text, err := o.ReadFile(name)
		require.NoError(t, err)
		texts[name], err = edit.Apply(text, changes)
		require.NoError(t, err, "%s", e.Title)
	}
	return plan.Options{Prints: o.Prints, ReadFile: func(name string) ([]byte, error) {
		if text, ok := texts[name]; ok {
			return text, nil
		}
		return o.ReadFile(name)
	}}
}

// holdsPromise makes the edit and asserts that the finding is gone and that no
// other stands in its place. Of plans with one fault there is nothing left.
func holdsPromise(t assert.TestingT, o plan.Options, name string, all finding.List, f finding.Finding, e finding.Edit) {
	after, err := opened(name, edited(t.(require.TestingT), o, e))
	if !assert.NoError(t, err, "%s: %s", f, e.Title) {
		return
	}
	grave := func(l finding.List) (of []string) {
		for _, f := range l {
			if f.Severity >= finding.Warning {
				of = append(of, f.Rule+" "+f.Subject)
			}
		}
		slices.Sort(of)
		return of
	}
	before := grave(all)
	if f.Severity >= finding.Warning {
		i := slices.Index(before, f.Rule+" "+f.Subject)
		before = slices.Delete(before, i, i+1)
	}
	for _, left := range grave(after) {
		i := slices.Index(before, left)
		if i < 0 {
			assert.Fail(t, "another finding stands in its place", "%s\n%s\nbrings %s\n%v", f, e.Title, left, after)
			return
		}
		before = slices.Delete(before, i, i+1)
	}
	for _, left := range after {
		assert.False(t, left.Rule == f.Rule && left.Subject == f.Subject && left.Place.Line == f.Place.Line && left.Message == f.Message, "%s\n%s\nleaves %s", f, e.Title, left)
	}
}

// mustOffer are the plans of testdata/broken whose fault an edit mends.
var mustOffer = strings.Fields(`
accept-not-possible accept-unused also-in-list bad-value beside-functional-only beside-itself carrier-squelch
command-first coordinates dcs-alias display-name division-without-tactical duplicate-key empty-list encoding
guard-last key-case look-alike no-air-to-ground no-guard no-offset no-priority no-site no-travel priority-none
site-beyond-horizon site-direct-channel site-not-carrying site-not-needed site-or-tone slot-channel syntax
talkgroup tone-without-site unknown-channel unknown-key unknown-position unknown-selector unknown-site wideband
`)

// Follow the help: each edit that is offered for a plan of testdata/broken is
// made, and the finding is gone without another in its place.
func TestEachEditOfABrokenPlanMendsIt(t *testing.T) {
	offered := map[string]int{}
	for _, r := range rules.All() {
		name := r.ID + ".toml"
		if _, err := os.Stat(filepath.Join(broken, name)); errors.Is(err, fs.ErrNotExist) {
			name = filepath.Join("loads", name)
		}
		if withoutFile[r.ID] != "" {
			continue
		}
		found, err := opened(name, inBroken)
		require.NoError(t, err)
		for _, f := range found {
			for _, e := range f.Edits {
				offered[r.ID]++
				assert.Contains(t, f.Help, e.Title, "the words come from the edit")
				assert.Equal(t, len(f.Edits) > 1, e.Choose)
				holdsPromise(t, inBroken, name, found, f, e)
			}
		}
	}
	assert.Subset(t, slices.Sorted(maps.Keys(offered)), mustOffer)
	t.Logf("%d of %d rules offer an edit", len(offered), len(rules.All()))
	for _, r := range rules.All() {
		if offered[r.ID] == 0 {
			t.Log("none: ", r.ID)
		}
	}
}

// writeEdits shows edits in the golden file.
func writeEdits(b *strings.Builder, f finding.Finding) {
	for _, e := range f.Edits {
		by := ""
		if e.ByHand {
			by = " (by hand)"
		}
		fmt.Fprintf(b, "  edit%s: %s\n", by, e.Title)
		for _, c := range e.Changes {
			fmt.Fprintf(b, "    %s:%d:%d: %q -> %q\n", c.File, c.From.Line, c.From.Column, c.Old, c.New)
		}
	}
}

// Where the header of a slot is missing, its keys stand again in the slot before:
// to delete them would lose the slot.
func TestMissingHeaderIsOfferedFirst(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sound", "plan.toml"))
	require.NoError(t, err)
	parts := strings.SplitN(string(text), "[[slot]]\n", 4)
	faulty := strings.Join(parts[:3], "[[slot]]\n") + parts[3]
	o := plan.Options{ReadFile: func(name string) ([]byte, error) {
		if name == "plan.toml" {
			return []byte(faulty), nil
		}
		return os.ReadFile(filepath.Join("..", "..", "testdata", "sound", name))
	}}
	found, err := opened("plan.toml", o)
	require.NoError(t, err)
	i := slices.IndexFunc(found, func(f finding.Finding) bool { return f.Rule == "duplicate-key" })
	require.GreaterOrEqual(t, i, 0)
	require.NotEmpty(t, found[i].Edits)
	assert.Equal(t, "if another entry begins here, write [[slot]] above it", found[i].Edits[0].Title)
	after, err := opened("plan.toml", edited(t, o, found[i].Edits[0]))
	require.NoError(t, err)
	assert.False(t, after.HasErrors(), "%v", after)
}

// While a name is wrong much is left unsaid. What comes to light when it is
// mended does not speak against the edit, and no finding is left without help.
func TestAnotherFaultDoesNotHideTheHelp(t *testing.T) {
	_, found := check(t, "aircraft    = true", "aircraft    = true\ninstructions = \"Medical: go to slot 5.\"", `channel  = "QB TAC 1"`, `channel  = "QB TAC 9"`)
	require.Len(t, found, 1)
	require.Equal(t, "unknown-channel", found[0].Rule)
	assert.Contains(t, found[0].Help, `did you mean "QB TAC 3" (1-07, 156.5100)?`)
	for _, e := range found[0].Edits {
		assert.NotContains(t, e.Title, "QB TAC 2", "it stands in the list already")
	}
}
