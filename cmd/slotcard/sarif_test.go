package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every broken plan in one SARIF log, against the published schema (OASIS SARIF
// 2.1.0, testdata/sarif-2.1.0.json) with an independent validator.
func TestSARIFFollowsThePublishedSchema(t *testing.T) {
	schemaFile, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sarif-2.1.0.json"))
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schemaFile))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("file:///sarif.json", doc))
	schema, err := c.Compile("file:///sarif.json")
	require.NoError(t, err)

	var out, complaints bytes.Buffer
	status := run([]string{"check", "--sarif", filepath.Join("..", "..", "testdata", "broken")}, nil, &out, &complaints)
	assert.Equal(t, 1, status, complaints.String())
	log, err := jsonschema.UnmarshalJSON(bytes.NewReader(out.Bytes()))
	require.NoError(t, err)
	require.NoError(t, schema.Validate(log))

	var parsed struct {
		Runs []struct {
			Tool struct {
				Driver struct{ Rules []struct{ ID string } }
			}
			Results []struct {
				RuleID    string
				RuleIndex int
				Fixes     []struct {
					ArtifactChanges []struct {
						Replacements []struct{ DeletedRegion map[string]int }
					}
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &parsed))
	require.Len(t, parsed.Runs, 1)
	results := parsed.Runs[0].Results
	assert.Greater(t, len(results), 60)
	fixes := 0
	for _, r := range results {
		rule := parsed.Runs[0].Tool.Driver.Rules[r.RuleIndex]
		assert.Equal(t, r.RuleID, rule.ID)
		fixes += len(r.Fixes)
		for _, f := range r.Fixes {
			require.NotEmpty(t, f.ArtifactChanges)
			require.NotEmpty(t, f.ArtifactChanges[0].Replacements)
		}
	}
	assert.Greater(t, fixes, 60, "edits are fixes")

	broken := map[string]any{"version": "2.1.0", "runs": []any{map[string]any{}}}
	assert.Error(t, schema.Validate(broken), "the schema refuses a run without a tool")
}
