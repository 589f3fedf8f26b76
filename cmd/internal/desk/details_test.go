package desk

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan/build"
)

// A change of the load that plans do not survive is made only where somebody says so;
// undo comes back to the part of the file that was looked at.
func TestDetailsOfALoad(t *testing.T) {
	d := opened(t)
	first := loadText(t)
	const sites = "/details/" + loadFile + "?table=site&edit=0"
	said := submit(t, d, sites, "set", map[string]string{"name": "Bell"})
	assert.Contains(t, said, "A plan would lose a channel by this: Thimble Gulch, period 2")
	assert.Contains(t, said, "through Bellwether")
	require.Equal(t, first, loadText(t))
	require.Empty(t, submit(t, d, sites, "set", map[string]string{"name": "Bell", "sure": "1"}))
	assert.Equal(t, strings.Replace(first, `"Bellwether"`, `"Bell"`, 1), loadText(t))
	require.Equal(t, "/details/"+loadFile+"?table=site", post(t, d, "/history/"+loadFile, "do", "undo", "back", "details", "table", "site"))
	require.Equal(t, first, loadText(t))
	// The number of a tone, and what is named by it: cards say it.
	work, err := build.OpenTables("load.toml", []byte(first))
	require.NoError(t, err)
	tones, err := work.Kind("tone")
	require.NoError(t, err)
	require.NoError(t, work.Set(tones, 3, map[string]string{"number": "44"}))
	p := &Page{File: loadFile, State: d.shelf.get(loadFile), desk: d, Request: ask(d, http.MethodGet, "/", nil)}
	_, others := p.follows(work.Text())
	assert.Contains(t, strings.Join(others, "\n"), "its cards name the repeater or tone otherwise now")
	require.Empty(t, submit(t, d, "/details/"+loadFile+"?table=tone&edit=3", "set", map[string]string{"number": "44"}))
	assert.Contains(t, loadText(t), "tone = 44\n")
	require.Equal(t, 44, d.shelf.get(loadFile).Load.Sites[0].Tone.Number)
	// What is refused stays in its field.
	page := body(t, answer(d, ask(d, http.MethodPost, "/details/"+loadFile, url.Values{"do": {"set"}, "typed": {"1"}, "table": {"tone"}, "i": {"0"}, "was": {"old"}, "number": {"x7"}})))
	assert.Contains(t, page, `value="x7"`)
	assert.Contains(t, page, "has changed")
}

// Somebody answers for a finding where it stands. Those of the station hold on.
func TestAcceptAFinding(t *testing.T) {
	d := keyDesk(t)
	require.NoError(t, os.WriteFile("plan.toml", []byte(strings.Replace(strings.Replace(keyFiles["plan"], "load =", "base = \"station.toml\"\nload =", 1), keyFiles["plan"][strings.Index(keyFiles["plan"], "[[accept]]"):], "", 1)), 0o644))
	n, subject := 0, ""
	for i, f := range d.shelf.get("plan.toml").Findings {
		if f.Rule == "scan-limit" || f.Rule == "no-priority" || f.Rule == "no-empty-position" || f.Rule == "no-travel" || f.Rule == "command-first" || f.Rule == "division-without-tactical" {
			n, subject = i+1, f.Subject
		}
	}
	require.NotZero(t, n, "%v", d.shelf.get("plan.toml").Findings)
	page := "/findings/plan.toml?n=" + string(rune('0'+n))
	assert.Contains(t, submit(t, d, page, "accept", map[string]string{"because": "", "by": "R. Okafor"}), "the reason")
	require.Empty(t, submit(t, d, page, "accept", map[string]string{"because": "there is one engine", "by": "R. Okafor"}))
	text, err := os.ReadFile(filepath.FromSlash("plan.toml"))
	require.NoError(t, err)
	assert.Equal(t, 2, strings.Count(string(text), "[[accept]]"), "the station's and this one")
	assert.Contains(t, string(text), "none is watched")
	for _, f := range d.shelf.get("plan.toml").Findings {
		if f.Subject == subject {
			assert.Equal(t, "note", f.Severity.String())
		}
	}
}

// A plan is read and checked once for an edit: the cards are of that check.
func TestCheckedOnce(t *testing.T) {
	d := opened(t)
	g := d.shelf.get("fire/plan.toml").Good
	require.NotNil(t, g.made["deck"])
	job := g.made["deck"].job
	require.NotNil(t, job)
	assert.Contains(t, look(t, d, "/cards/fire/plan.toml"), "Card 1")
	m, err := g.make(t.Context(), nil, true)
	require.NoError(t, err)
	assert.Same(t, job, m.job)
	assert.Same(t, d.shelf.get("fire/plan.toml").Plan, m.job.Plan)
}

// What is added to a plan that has its kind from the station file is added to that: none
// of the station's goes out of force unseen. Where the station file cannot be read,
// nothing is written.
func TestAddedToTheStation(t *testing.T) {
	d := keyDesk(t)
	own := strings.Index(keyFiles["plan"], "[[position]]")
	require.Positive(t, own)
	text := "base = \"station.toml\"\n" + keyFiles["plan"][:own]
	require.NoError(t, os.WriteFile("plan.toml", []byte(text), 0o644))
	before := d.shelf.get("plan.toml").Plan
	require.NotNil(t, before)
	seats := len(before.Plan.Positions)
	require.Positive(t, seats, "of the station")
	assert.Contains(t, look(t, d, "/details/plan.toml?table=position"), "What is added is added to that")
	require.Empty(t, submit(t, d, "/details/plan.toml?table=position&add=1", "add", map[string]string{"name": "Lookout", "priority": "own"}))
	after := d.shelf.get("plan.toml").Plan.Plan
	require.Len(t, after.Positions, seats+1)
	for i, was := range before.Plan.Positions {
		assert.Equal(t, []any{was.Name, was.Priority, was.Scan}, []any{after.Positions[i].Name, after.Positions[i].Priority, after.Positions[i].Scan})
	}
	assert.True(t, after.Has("position"))

	// How it prints begins with what the station says.
	require.Equal(t, before.Plan.Card.Paper, d.shelf.get("plan.toml").Plan.Plan.Card.Paper)
	require.Empty(t, submit(t, d, "/details/plan.toml?table=card&add=1", "add", map[string]string{"size": "a6"}))
	card := d.shelf.get("plan.toml").Plan.Plan.Card
	assert.Equal(t, "a6", card.Size)
	assert.Equal(t, before.Plan.Card.Paper, card.Paper)

	require.NoError(t, os.WriteFile("plan.toml", []byte(text), 0o644))
	require.NoError(t, os.Remove("station.toml"))
	for _, part := range []string{"position", "accept", "also"} {
		said := post(t, d, "/details/plan.toml", "do", "add", "typed", "1", "table", part, "name", "Lookout", "channel", "QB TAC 1", "when", "always", "rule", "scan-limit", "subject", "Lookout", "because", "x", "by", "y")
		assert.Contains(t, said, "station file cannot be seen now", part)
	}
	assert.Contains(t, post(t, d, "/listen/plan.toml", "do", "add", "position", "Lookout"), "its station file cannot be read: station.toml: no such file; mend that first")
	assert.Contains(t, post(t, d, "/roster/plan.toml", "do", "add", "unit", "Engine 9", "kind", "", "team", "", "division", ""), "its station file cannot be read")
	kept, err := os.ReadFile("plan.toml")
	require.NoError(t, err)
	assert.Equal(t, text, string(kept))
}
