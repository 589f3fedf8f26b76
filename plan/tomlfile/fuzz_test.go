package tomlfile_test

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/require"

	"slotcard/plan/finding"
	"slotcard/plan/tomlfile"
)

func reflectType[T any]() reflect.Type { return reflect.TypeFor[T]() }

// FuzzDecode: no input may crash; a text without findings is TOML to another
// parser too; and every place lies in the text.
func FuzzDecode(f *testing.F) {
	for _, c := range faults {
		if len(c.text) < 1000 {
			f.Add([]byte(c.text))
		}
	}
	samples, err := filepath.Glob("../../testdata/read/*.toml")
	require.NoError(f, err)
	for _, name := range samples {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var c crew
		file, found := tomlfile.Decode("f.toml", data, &c)
		require.NotNil(t, file)
		checkPlaces(t, found)
		if len(found) == 0 {
			var values map[string]any
			_, err := toml.Decode(string(data), &values)
			require.NoError(t, err, "no finding, yet not TOML")
			require.Equal(t, values["name"], c.Name)
			for key := range values {
				require.True(t, c.OK(key), key)
			}
		}
		tomlfile.Top(data)
	})
}

func checkPlaces(t *testing.T, found finding.List) {
	for _, f := range found {
		require.NotEmpty(t, f.Rule)
		require.NotEmpty(t, f.Message)
		if f.Place.Line == 0 {
			continue
		}
		require.Positive(t, f.Place.Column)
		require.Positive(t, f.Place.Length)
		require.LessOrEqual(t, f.Place.Column, utf8.RuneCountInString(f.Place.Text)+1)
		require.True(t, utf8.ValidString(f.Message), "%q", f.Message)
	}
}
