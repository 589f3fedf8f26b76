package rules_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

func TestCatalogueIsComplete(t *testing.T) {
	id := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	for _, r := range rules.All() {
		assert.Regexp(t, id, r.ID)
		assert.NotEqual(t, finding.Note, r.Severity, r.ID)
		for what, text := range map[string]string{
			"statement": r.Statement, "why": r.Why, "bad": r.Bad, "good": r.Good, "fix": r.Fix,
		} {
			assert.NotEmpty(t, text, "%s of %s", what, r.ID)
			assert.False(t, strings.HasSuffix(text, "."), "%s of %s ends with a full stop", what, r.ID)
		}
		for _, text := range []string{r.Statement, r.Why, r.Fix} {
			assert.NotContains(t, text, "\n", r.ID)
		}
		if r.Acceptable {
			assert.True(t, r.Check != nil || r.CheckLoad != nil, "%s is no rule of judgment", r.ID)
		}
		got, ok := rules.Get(r.ID)
		assert.True(t, ok)
		assert.Equal(t, r.Statement, got.Statement)
	}
	_, ok := rules.Get("no-such-rule")
	assert.False(t, ok)
	assert.Equal(t, "tactical-repeated", rules.Closest("tactical-repeatet")[0])
	assert.Equal(t, "common practice", rules.Rule{}.SourceText())
	assert.Equal(t, "TOML", rules.Rule{Source: "TOML"}.SourceText())
}

// The examples of the catalogue can be typed: they are TOML, but for those of the
// rules about TOML itself, and hold keys of a load or plan.
func TestExamplesOfTheCatalogueAreTOML(t *testing.T) {
	known := map[string]bool{}
	var collect func(t reflect.Type)
	collect = func(t reflect.Type) {
		for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct || t.PkgPath() != reflect.TypeFor[plan.Plan]().PkgPath() {
			return
		}
		for _, f := range reflect.VisibleFields(t) {
			if key, _, _ := strings.Cut(f.Tag.Get("toml"), ","); key != "" && key != "-" {
				known[key] = true
				if len(f.Index) == 1 {
					collect(f.Type)
				}
			}
		}
	}
	collect(reflect.TypeFor[plan.Load]())
	collect(reflect.TypeFor[plan.Plan]())
	notTOML := map[string]bool{"syntax": true, "duplicate-key": true}
	notKeys := map[string]bool{"unknown-key": true, "key-case": true}
	for _, r := range rules.All() {
		assert.NotEqual(t, r.Bad, r.Good, r.ID)
		for what, text := range map[string]string{"bad": r.Bad, "good": r.Good} {
			var values map[string]any
			meta, err := toml.Decode(text, &values)
			if what == "bad" && notTOML[r.ID] {
				assert.Error(t, err, r.ID)
				continue
			}
			if !assert.NoError(t, err, "%s of %s\n%s", what, r.ID, text) || what == "bad" && notKeys[r.ID] {
				continue
			}
			for _, k := range meta.Keys() {
				if k[0] == "seats" || len(k) > 1 && k[len(k)-2] == "seats" {
					continue // names of positions
				}
				assert.True(t, known[k[len(k)-1]], "%s of %s: %s", what, r.ID, k)
			}
		}
	}
}

// Whatever a finding calls its rule, anywhere in the program, can be explained:
// constants called Rule..., the key Rule of a finding, and the first argument of
// a method called fault are all in the catalogue.
func TestEveryIdentifierUsedIsInTheCatalogue(t *testing.T) {
	used := map[string]string{}
	note := func(file string, e ast.Expr) {
		if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			if id, err := strconv.Unquote(lit.Value); err == nil && id != "" {
				used[id] = file
			}
		}
	}
	for _, root := range []string{"../../plan", "../../layout", "../../cmd"} {
		err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.ValueSpec:
					for i, id := range n.Names {
						if strings.HasPrefix(id.Name, "Rule") && i < len(n.Values) {
							note(name, n.Values[i])
						}
					}
				case *ast.KeyValueExpr:
					if key, ok := n.Key.(*ast.Ident); ok && key.Name == "Rule" {
						note(name, n.Value)
					}
				case *ast.CallExpr:
					if f, ok := n.Fun.(*ast.SelectorExpr); ok && f.Sel.Name == "fault" {
						for _, a := range n.Args[:min(2, len(n.Args))] {
							if lit, ok := a.(*ast.BasicLit); ok && lit.Kind == token.STRING {
								note(name, a)
								break
							}
						}
					}
				}
				return true
			})
			return nil
		})
		require.NoError(t, err)
	}
	assert.Greater(t, len(used), 40)
	for id, file := range used {
		_, known := rules.Get(id)
		assert.True(t, known, "%s uses %q", file, id)
	}
	// Rules without a check are raised somewhere.
	for _, r := range rules.All() {
		if r.Check == nil && r.CheckLoad == nil {
			assert.Contains(t, used, r.ID)
		}
	}
}
