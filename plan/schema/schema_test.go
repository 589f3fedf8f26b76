package schema_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/schema"
)

// validator compiles a schema with an independent implementation of JSON
// Schema 2020-12, which checks it against the published meta-schema.
func validator(t *testing.T, source []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(source))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("file:///slotcard.json", doc))
	s, err := c.Compile("file:///slotcard.json")
	require.NoError(t, err)
	return s
}

// jsonOf is a TOML file as the validator sees it.
func jsonOf(t *testing.T, data []byte) any {
	t.Helper()
	var v map[string]any
	require.NoError(t, toml.Unmarshal(data, &v))
	out, err := json.Marshal(dates(v))
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(out))
	require.NoError(t, err)
	return doc
}

// dates writes local dates as TOML does; encoding/json adds a time of day.
func dates(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k := range v {
			v[k] = dates(v[k])
		}
	case []map[string]any:
		for i := range v {
			dates(v[i])
		}
	case []any:
		for i := range v {
			v[i] = dates(v[i])
		}
	case time.Time:
		if v.Location().String() == "date-local" {
			return v.Format(time.DateOnly)
		}
	}
	return v
}

func TestExamplesNameTheirSchemaAndFollowIt(t *testing.T) {
	root := filepath.Join("..", "..")
	plans, loads, stations := validator(t, schema.Plan()), validator(t, schema.Load()), validator(t, schema.Station())
	var files []string
	for _, pattern := range []string{"examples/*/*.toml", "cmd/slotcard/starter/*.toml", "testdata/sound/*.toml", "testdata/read/*.toml"} {
		found, err := filepath.Glob(filepath.Join(root, pattern))
		require.NoError(t, err)
		files = append(files, found...)
	}
	require.Greater(t, len(files), 6)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		s, want := plans, "plan.schema.json"
		switch plan.KindOf(data) {
		case plan.LoadFile:
			s, want = loads, "load.schema.json"
		case plan.StationFile:
			s, want = stations, "station.schema.json"
		}
		assert.NoError(t, s.Validate(jsonOf(t, data)), name)
		if strings.Contains(name, "examples") {
			assert.True(t, bytes.HasPrefix(data, []byte("#:schema ../"+want+"\n")), "%s does not name its schema in its first line", name)
		}
	}
}

// The schemas beside the examples are those that slotcard schema prints.
func TestSchemaFilesAreFresh(t *testing.T) {
	for name, want := range map[string][]byte{"plan": schema.Plan(), "load": schema.Load(), "station": schema.Station()} {
		path := filepath.Join("..", "..", "examples", name+".schema.json")
		got, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), "renew it: go run ./cmd/slotcard schema %s > %s", name, path)
	}
}

// What reading refuses, the schema refuses too, as far as one key is concerned.
func TestSchemaRefuses(t *testing.T) {
	plans, loads := validator(t, schema.Plan()), validator(t, schema.Load())
	base := func(name string) string {
		data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sound", name))
		require.NoError(t, err)
		return string(data)
	}
	tried := 0
	for _, c := range []struct {
		file, old, new string
	}{
		{"plan.toml", "[incident]", "[incident]\ncolor = \"red\""},
		{"plan.toml", "[incident]", "[incident]\nlatitude = \"north\""},
		{"plan.toml", "period ", "perio "},
		{"plan.toml", "[incident]", "[incident]\nlatitude = 44.1"},
		{"plan.toml", "[incident]", "[incident]\nrevision = 2"},
		{"plan.toml", `channel = "QB AG 1"`, "channel = \"QB AG 1\"\nrx = 151.8575"},
		{"plan.toml", `channel = "QB AG 1"`, `group = 1`},
		{"plan.toml", `channel = "QB AG 1"`, `use = "command"`},
		{"plan.toml", `site    = "Bellwether"`, "site = \"Bellwether\"\ntone = 4"},
		{"load.toml", "use     = \"command\"", "use = \"command\"\nsystem = \"QB\"\ntalkgroup = \"X\""},
		{"plan.toml", "[incident]", "[card]\nsides = \"both\"\n[incident]"},
		{"load.toml", "[radio]", "[radio]\nmodel = 3"},
		{"load.toml", "[radio]", "[radio]\nraster = \"12.5\""},
		{"load.toml", "[load]", "[load]\ncolor = \"red\""},
		{"load.toml", `use     = "command"`, `use     = "commando"`},
		{"load.toml", `use = "command"`, `use = "commando"`},
	} {
		text := base(c.file)
		broken := strings.Replace(text, c.old, c.new, 1)
		if broken == text {
			continue // the other spelling of the same row stands in the file
		}
		tried++
		s := plans
		if c.file == "load.toml" {
			s = loads
		}
		assert.Error(t, s.Validate(jsonOf(t, []byte(broken))), "%s with %s", c.file, c.new)
	}
	assert.Equal(t, 15, tried)
}

// Bounds are those of reading: a value just beyond one is refused by both, the bound
// itself by neither.
func TestBoundsAreThoseOfReading(t *testing.T) {
	read := func(file, text string) (found finding.List) {
		o := plan.Options{ReadFile: func(name string) ([]byte, error) {
			if name == file {
				return []byte(text), nil
			}
			return os.ReadFile(filepath.Join("..", "..", "testdata", "read", name))
		}}
		var err error
		if file == "load.toml" {
			_, found, err = plan.ReadLoad(file, o)
		} else {
			_, _, found, err = plan.Read(file, o)
		}
		require.NoError(t, err)
		return found
	}
	plans, loads := validator(t, schema.Plan()), validator(t, schema.Load())
	for _, c := range []struct{ file, at, key, low, high, under, over string }{
		{"load.toml", "[radio]", "list_positions", "1", "1000", "0", "1001"},
		{"load.toml", "[radio]", "name_length", "1", "64", "0", "65"},
		{"load.toml", "[[site]]", "elevation_ft", "-1640", "29527", "-1641", "29528"},
		{"load.toml", "[[site]]", "elevation_m", "-500", "9000", "-500.1", "9000.1"},
		{"plan.toml", "[incident]", "period", "1", "9999", "0", "10000"},
		{"plan.toml", "[incident]", "revision", "2", "9999", "1", "10000"},
		{"plan.toml", "[card]", "scan_limit", "1", "1000", "0", "1001"},
	} {
		data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "read", c.file))
		require.NoError(t, err)
		lines := regexp.MustCompile(`(?m)^(`+c.key+`|elevation_m|revised_at)\s*=.*\n`).ReplaceAllString(string(data), "")
		s := plans
		if c.file == "load.toml" {
			s = loads
		}
		for value, good := range map[string]bool{c.low: true, c.high: true, c.under: false, c.over: false} {
			added := c.key + " = " + value + "\n"
			if c.key == "revision" {
				added += "revised_at = 2027-08-14T13:05:00-06:00\n"
			}
			text := strings.Replace(lines, c.at+"\n", c.at+"\n"+added, 1)
			require.NotEqual(t, lines, text)
			assert.Equal(t, good, s.Validate(jsonOf(t, []byte(text))) == nil, "schema: %s = %s", c.key, value)
			assert.Equal(t, good, !read(c.file, text).HasErrors(), "reading: %s = %s", c.key, value)
		}
	}
}

// Every key has a sentence that an editor can show.
func TestEveryKeyIsDescribed(t *testing.T) {
	for name, data := range map[string][]byte{"plan": schema.Plan(), "load": schema.Load(), "station": schema.Station()} {
		var root map[string]any
		require.NoError(t, json.Unmarshal(data, &root))
		assert.Equal(t, "https://json-schema.org/draft/2020-12/schema", root["$schema"])
		n := 0
		var walk func(at string, v any)
		walk = func(at string, v any) {
			m, ok := v.(map[string]any)
			if !ok {
				return
			}
			if props, ok := m["properties"].(map[string]any); ok {
				for k, p := range props {
					n++
					assert.NotEmpty(t, p.(map[string]any)["description"], "%s: %s.%s", name, at, k)
					walk(at+"."+k, p)
				}
			}
			walk(at, m["items"])
		}
		walk("", root)
		assert.Greater(t, n, 25)
	}
}
