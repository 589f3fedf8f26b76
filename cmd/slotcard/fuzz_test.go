package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
)

// templates are the files that the whole command line is tried on: sound ones, those
// that break one rule each, lists and sheets.
func templates(t testing.TB) (all [][]byte) {
	for _, pattern := range []string{"testdata/fire/*.toml", "../../testdata/broken/[a-m]*.toml", "../../testdata/lists/*.csv", "../../testdata/sheets/*.csv"} {
		names, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, n := range names {
			data, err := os.ReadFile(n)
			require.NoError(t, err)
			if len(data) < 20_000 {
				all = append(all, data)
			}
		}
	}
	require.Greater(t, len(all), 40)
	return append(all, []byte(fireList), []byte(chanceList))
}

// spoil changes a text as a slip of the hand or an attacker would: by lines, words and
// values, not by bytes, so that much of it still means something.
func spoil(rng *rand.Rand, text []byte, junk string, others [][]byte) []byte {
	lines := strings.SplitAfter(string(text), "\n")
	for range rng.IntN(4) {
		i := rng.IntN(len(lines))
		switch rng.IntN(7) {
		case 0:
			lines = slices.Delete(lines, i, i+1)
		case 1:
			lines = slices.Insert(lines, i, lines[i])
		case 2:
			other := strings.SplitAfter(string(others[rng.IntN(len(others))]), "\n")
			lines = slices.Insert(lines, i, other[rng.IntN(len(other))])
		case 3:
			lines[i] = strings.Replace(lines[i], `"`, `"`+junk, 1)
		case 4:
			if key, _, ok := strings.Cut(lines[i], "="); ok {
				lines[i] = key + "= " + []string{"0", "-1", "1e9", "nan", "true", `""`, "[]", "{}", "9223372036854775807", "2027-08-14", `"` + junk + `"`, junk}[rng.IntN(12)] + "\n"
			}
		case 5:
			lines[i] = junk + "\n"
		case 6:
			lines[i] = strings.Repeat(lines[i], 1+rng.IntN(40))
		}
		if len(lines) == 0 {
			lines = []string{""}
		}
	}
	return []byte(strings.Join(lines, ""))
}

// FuzzCommandLine runs any command with any of its flags over files made from
// templates. It ends with a status that README.md promises, says nothing that a
// terminal obeys, prints a document where one is asked for, and leaves no file of its
// own making behind.
func FuzzCommandLine(f *testing.F) {
	all := templates(f)
	for seed := range uint64(40) {
		f.Add(seed, []string{"", "x", "\x1b[2J\u202e", "=1+1", "'\"\\", "../x", "Ünit\n", "-", "%s{A}", "0.0000001"}[seed%10])
	}
	commands := new(app).root().Commands()
	f.Fuzz(func(t *testing.T, seed uint64, junk string) {
		if len(junk) > 200 {
			return
		}
		rng := rand.New(rand.NewPCG(seed, 14))
		dir := t.TempDir()
		pick := func() []byte { return spoil(rng, all[rng.IntN(len(all))], junk, all) }
		fire, load := all[1], all[0] // in order of their names
		plan := fire
		if rng.IntN(3) > 0 {
			plan = spoil(rng, fire, junk, all)
		}
		if rng.IntN(3) == 0 {
			load = spoil(rng, load, junk, all)
		}
		names := []string{"plan.toml", "load.toml", "other.toml", "sheet.csv", "list.txt", "gone.toml"}
		for name, data := range map[string][]byte{"plan.toml": plan, "load.toml": load, "other.toml": spoil(rng, fire, junk, all), "sheet.csv": pick(), "list.txt": pick()} {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o666))
		}
		cmd := commands[rng.IntN(len(commands))]
		if name := cmd.Name(); name == "desk" || name == "hang" {
			return
		}
		args := []string{cmd.Name()}
		file := func() string { return filepath.Join(dir, names[rng.IntN(len(names))]) }
		for range rng.IntN(4) {
			args = append(args, file())
		}
		if len(args) > 1 && rng.IntN(2) == 0 {
			args[1] = filepath.Join(dir, names[0])
		}
		var flags []*pflag.Flag
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Name != "help" {
				flags = append(flags, f)
			}
		})
		for range rng.IntN(3) {
			if len(flags) == 0 {
				break
			}
			flag := flags[rng.IntN(len(flags))]
			if flag.Value.Type() == "bool" {
				args = append(args, "--"+flag.Name)
				continue
			}
			value := []string{file(), junk, "0", "2", "a7", "a4", "each", "es", "NaN", "1e300", "grid", "unit", filepath.Join(dir, "out")}[rng.IntN(13)]
			args = append(args, "--"+flag.Name+"="+value)
		}
		if writes := []string{"new", "next", "revise", "print"}; slices.Contains(writes, cmd.Name()) {
			args = append(args, "-o", filepath.Join(dir, "out")) // never beside the test
			if cmd.Name() == "new" {
				args = []string{"new", filepath.Join(dir, "out")}
			}
		}

		ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
		defer cancel()
		var stdout, stderr bytes.Buffer
		status := runContext(ctx, args, strings.NewReader(string(pick())), &stdout, &stderr)
		require.NoError(t, ctx.Err(), "%q takes long", args)
		assert.Contains(t, []int{exitFine, exitFindings, exitUsage}, status)
		for line := range strings.Lines(stderr.String()) {
			line = strings.TrimSuffix(line, "\n")
			require.Equal(t, voice.Printable(line), line, "%q", args)
		}
		if slices.Contains(args, "--json") && stdout.Len() > 0 && cmd.Name() != "find" { // which may print a document a line
			require.True(t, json.Valid(stdout.Bytes()), "%q: %s", args, &stdout)
		}
		if status == exitUsage {
			require.NotZero(t, stderr.Len()+stdout.Len(), "%q says nothing", args)
		}
		for _, in := range []string{dir, filepath.Join(dir, "out")} {
			left, _ := filepath.Glob(filepath.Join(files.GlobSafe(in), ".slotcard-*"))
			for _, name := range left {
				require.Equal(t, ".slotcard-print.json", filepath.Base(name), "%q", args)
			}
		}
	})
}
