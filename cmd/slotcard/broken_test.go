package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// inBrokenPlans changes into a copy of the folder of broken plans, and gives
// their names: each is called after the rule that it breaks. A load that breaks
// a rule by itself gets the sound plan.
func inBrokenPlans(t *testing.T) []string {
	t.Helper()
	dir := t.TempDir()
	for _, part := range []string{"broken", "sound"} {
		require.NoError(t, os.CopyFS(filepath.Join(dir, part), os.DirFS(filepath.Join("../../testdata", part))))
	}
	t.Chdir(filepath.Join(dir, "broken"))
	loads, err := filepath.Glob("loads/*.toml")
	require.NoError(t, err)
	sound, err := os.ReadFile("../sound/plan.toml")
	require.NoError(t, err)
	for _, load := range loads {
		name := filepath.Base(load)
		if _, err := os.Stat(name); err == nil {
			continue
		}
		text := strings.Replace(string(sound), `load = "load.toml"`, fmt.Sprintf("load = %q", filepath.ToSlash(load)), 1)
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	}
	names, err := filepath.Glob("*.toml")
	require.NoError(t, err)
	assert.Greater(t, len(names), 80)
	return names
}

// folder lists all files below the current folder.
func folder(t *testing.T) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir("..", func(name string, _ fs.DirEntry, err error) error {
		names = append(names, name)
		return err
	}))
	return names
}

// Every plan of testdata/broken breaks the rule that its file is called after:
// check says so, and print of one with an error ends with 1 and writes nothing.
func TestBrokenPlans(t *testing.T) {
	names := inBrokenPlans(t)
	before := folder(t)
	errors := 0
	for _, name := range names {
		id := strings.TrimSuffix(name, ".toml")
		rule, ok := rules.Get(id)
		require.True(t, ok, "%s: the file is called after a rule", name)
		var stdout, stderr bytes.Buffer
		status := run([]string{"check", name}, nil, &stdout, &stderr)
		if rule.Severity == finding.Advice && rule.CheckLoad != nil {
			continue // said of the load by itself
		}
		assert.Contains(t, stdout.String(), rule.Severity.String()+": ", name)
		assert.Contains(t, stdout.String(), " ["+id+"]\n", name)
		if rule.Severity != finding.Error {
			assert.Equal(t, exitFine, status, "%s\n%s", name, &stderr)
			continue
		}
		errors++
		assert.Equal(t, exitFindings, status, "%s\n%s", name, &stderr)
		for _, args := range [][]string{{"print", name}, {"print", name, "-o", "elsewhere"}, {"print", name, "--png"}} {
			assert.Equal(t, exitFindings, run(args, nil, new(bytes.Buffer), new(bytes.Buffer)), args)
		}
	}
	assert.Equal(t, before, folder(t), "something was written")
	assert.Greater(t, errors, 50)
}

// What the long form of a finding says about accepting it is all that is needed.
func TestAcceptAsPrinted(t *testing.T) {
	printed := regexp.MustCompile(`(?m)^help: or, if somebody answers for it, add to the end of the .*:
  \[\[accept\]\]
  rule    = (".*")
  subject = (".*")
  because = "\.\.\."
  by      = "\.\.\."$`)
	accepted := 0
	for _, name := range inBrokenPlans(t) {
		rule, _ := rules.Get(strings.TrimSuffix(name, ".toml"))
		if load := filepath.Join("loads", name); rule.Acceptable && rule.Check == nil {
			if _, err := os.Stat(load); err == nil {
				name = load // what this plan does not use is accepted there
			}
		}
		var long bytes.Buffer
		before := run([]string{"check", "--long", name}, nil, &long, new(bytes.Buffer))
		shown := printed.FindAllStringSubmatch(long.String(), -1)
		if !rule.Acceptable {
			assert.Empty(t, shown, name)
			continue
		}
		if !assert.Len(t, shown, 1, "%s\n%s", name, &long) {
			continue
		}
		if rule.Severity == finding.Error {
			assert.Equal(t, exitFindings, before, name)
		}
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		text = fmt.Appendf(text, "\n[[accept]]\nrule = %s\nsubject = %s\nbecause = \"the ridge\"\nby = \"R. Okafor\"\n", shown[0][1], shown[0][2])
		require.NoError(t, os.WriteFile(name, text, 0o600))
		var stdout, stderr bytes.Buffer
		status := run([]string{"check", "--strict", name}, nil, &stdout, &stderr)
		assert.Equal(t, exitFine, status, name)
		lines := strings.Split(strings.TrimSpace(stdout.String()), "\n")
		assert.Len(t, lines, 1, stdout.String())
		assert.Contains(t, lines[0], ": note: ", name)
		assert.Contains(t, lines[0], " ["+rule.ID+"]", name)
		accepted++
	}
	assert.Greater(t, accepted, 25)
}
