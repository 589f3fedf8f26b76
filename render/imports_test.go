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

// room is the part of the module that a path of the module belongs to.
func room(p string) string { return strings.Split(p, "/")[0] }

// arrows is the map in DEVELOPERS.md: what each package imports of the module.
func arrows(t *testing.T) map[string][]string {
	text, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, after, found := strings.Cut(string(text), "package                  imports\n")
	require.True(t, found, "DEVELOPERS.md has the map of imports")
	block, _, _ := strings.Cut(after, "```")
	out := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(block), "\n") {
		f := strings.Fields(line)
		out[f[0]] = f[1:]
	}
	return out
}

// Every arrow of the map is there, and no other; and all of them run one way:
// cmd, render, layout, plan, with fonts at the bottom.
func TestDirectionOfImports(t *testing.T) {
	may := map[string][]string{
		"cmd":    {"cmd", "render", "layout", "plan", "fonts"},
		"render": {"render", "layout", "fonts"},
		"layout": {"layout", "plan", "fonts"},
		"plan":   {"plan"},
		"fonts":  {"fonts"},
	}
	all, drawn := imports(t), arrows(t)
	for pkg := range drawn {
		assert.Contains(t, all, pkg, "DEVELOPERS.md draws a package that is gone")
	}
	for pkg, imported := range all {
		rooms, known := may[room(pkg)]
		require.True(t, known, "%s belongs to no known part of the module", pkg)
		to, known := drawn[pkg]
		require.True(t, known, "%s is missing on the map in DEVELOPERS.md", pkg)
		var inside []string
		for p, file := range imported {
			if p, ok := strings.CutPrefix(p, module+"/"); ok {
				inside = append(inside, p)
				assert.Contains(t, rooms, room(p), "%s imports %s", file, p)
				assert.Contains(t, to, p, "%s imports %s: draw the arrow in DEVELOPERS.md, or do without", file, p)
				if room(pkg) == "cmd" || pkg == "render/rendertest" {
					assert.NotContains(t, p, "rendertest", "%s is for tests", p)
				}
			}
			if p == pdfLib {
				assert.Equal(t, "render", pkg, "%s imports %s", file, p)
			}
		}
		assert.Subset(t, inside, to, "DEVELOPERS.md draws arrows from %s that are gone", pkg)
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
