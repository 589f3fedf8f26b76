package render

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	module = "slotcard"
	pdfLib = "github.com/go-pdf/fpdf"
)

// imports lists, for each package of the module, what its files import that
// are not tests, each with a file that does.
func imports(t *testing.T) map[string]map[string]string {
	root := os.DirFS("..")
	out := map[string]map[string]string{}
	err := fs.WalkDir(root, ".", func(name string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir() && name != "." && (strings.HasPrefix(e.Name(), ".") || strings.HasPrefix(e.Name(), "_") || e.Name() == "testdata"):
			return fs.SkipDir
		case e.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		src, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, src, parser.ImportsOnly)
		if err != nil {
			return err
		}
		pkg := path.Dir(name)
		if out[pkg] == nil {
			out[pkg] = map[string]string{}
		}
		for _, i := range file.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			out[pkg][p] = name
		}
		return nil
	})
	require.NoError(t, err)
	return out
}

// room is the part of the house that a path of the module belongs to.
func room(p string) string { return strings.Split(p, "/")[0] }

// Arrows run one way: cmd, render, layout, plan, with fonts at the bottom.
func TestDirectionOfImports(t *testing.T) {
	may := map[string][]string{
		"cmd":    {"cmd", "render", "layout", "plan", "fonts"},
		"render": {"render", "layout", "fonts"},
		"layout": {"layout", "plan", "fonts"},
		"plan":   {"plan"},
		"fonts":  {"fonts"},
	}
	all := imports(t)
	for _, pkg := range []string{"layout", "plan", "fonts", "render", "cmd/slotcard"} {
		require.Contains(t, all, pkg, "the test looks at the whole module")
	}
	for pkg, imported := range all {
		rooms, known := may[room(pkg)]
		require.True(t, known, "%s stands in no known part of the house", pkg)
		for p, file := range imported {
			if inside, ok := strings.CutPrefix(p, module+"/"); ok {
				assert.Contains(t, rooms, room(inside), "%s imports %s", file, p)
				if room(pkg) == "cmd" || pkg == "render/rendertest" {
					assert.NotContains(t, inside, "rendertest", "%s is for tests", p)
				}
			}
			if p == pdfLib {
				assert.Equal(t, "render", pkg, "%s imports %s", file, p)
			}
		}
	}
	assert.Contains(t, all["render"], pdfLib)
}

// Only cmd opens files.
func TestOnlyTheCommandOpensFiles(t *testing.T) {
	for pkg, imported := range imports(t) {
		if room(pkg) == "cmd" || pkg == "render/rendertest" {
			continue
		}
		for _, p := range []string{"os", "os/exec", "io/ioutil"} {
			assert.NotContains(t, imported, p, pkg)
		}
	}
}
