package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(tidied{m}, map[string]func(){"slotcard": main, "measured": measured})
}

// tidied closes the browser that the tests share when all are done.
type tidied struct{ m *testing.M }

func (t tidied) Run() int {
	defer closeBrowser()
	return t.m.Run()
}

// TestScripts runs the real program over testdata/script. Every script finds a
// sound plan and its load in the folder fire. Beside the usual commands it has
//
//	files DIR NAME...          fails unless the folder holds just these names, hidden ones too
//	exit1 COMMAND..., exit2    run a command that must end with just this status
//	json PATH VALUE            looks a value up in the JSON document on standard output
//	change FILE OLD NEW COPY   writes a copy of a file in which one piece of text differs
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("EXAMPLES", examples)
			env.Setenv("PHOTOS", filepath.Join(filepath.Dir(examples), "testdata", "photos"))
			env.Setenv("LISTS", filepath.Join(filepath.Dir(examples), "testdata", "lists"))
			return os.CopyFS(filepath.Join(env.WorkDir, "fire"), os.DirFS("testdata/fire"))
		},
		Condition: func(cond string) (bool, error) {
			return cond == "root" && os.Geteuid() == 0, nil
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"files": holds, "change": change, "json": jsonValue, "exit1": exits(1), "exit2": exits(2),
		},
		UpdateScripts:       *update, // go test ./cmd/slotcard -run Scripts -update
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
	})
}

func holds(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: files DIR NAME...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var names []string
	for _, e := range entries {
		if e.Name() != ".slotcard-print.json" { // of each print: TestMixture of package publish
			names = append(names, e.Name())
		}
	}
	got, want := strings.Join(names, " "), strings.Join(args[1:], " ")
	if got != want {
		ts.Fatalf("%s holds %q, not %q", args[0], got, want)
	}
}

func change(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: change FILE OLD NEW COPY")
	}
	text := ts.ReadFile(args[0])
	was, is := strings.ReplaceAll(args[1], `\n`, "\n"), strings.ReplaceAll(args[2], `\n`, "\n")
	if strings.Count(text, was) != 1 {
		ts.Fatalf("%s holds %q %d times", args[0], was, strings.Count(text, was))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[3]), []byte(strings.Replace(text, was, is, 1)), 0o666))
}

func exits(status int) func(ts *testscript.TestScript, neg bool, args []string) {
	return func(ts *testscript.TestScript, neg bool, args []string) {
		if neg || len(args) == 0 {
			ts.Fatalf("usage: exit%d COMMAND...", status)
		}
		err := ts.Exec(args[0], args[1:]...)
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != status {
			ts.Fatalf("%s ended with %v, not with status %d", args, err, status)
		}
	}
}

func jsonValue(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: json PATH VALUE")
	}
	var at any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &at))
	for key := range strings.SplitSeq(args[0], ".") {
		switch in := at.(type) {
		case map[string]any:
			at = in[key]
		case []any:
			i, err := strconv.Atoi(key)
			ts.Check(err)
			if i >= len(in) {
				ts.Fatalf("%s: only %d there", args[0], len(in))
			}
			at = in[i]
		default:
			ts.Fatalf("%s: nothing there", args[0])
		}
	}
	if got := fmt.Sprint(at); got != args[1] {
		ts.Fatalf("%s is %q, not %q", args[0], got, args[1])
	}
}
