package desk

import (
	"context"
	"html"
	"io"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/voice"
	"slotcard/layout"
)

// tickFields are the fields of the form that ticks the box of a unit.
func tickFields(t *testing.T, page, unit string) (pairs []string) {
	t.Helper()
	for form := range strings.SplitSeq(page, "<form method=\"post\">") {
		if !strings.Contains(form, `value="tick"`) || !strings.Contains(form, `name="unit" value="`+unit+`"`) {
			continue
		}
		for _, m := range regexp.MustCompile(`type="hidden" name="([a-z]+)" value="([^"]*)"`).FindAllStringSubmatch(form, -1) {
			pairs = append(pairs, m[1], html.UnescapeString(m[2]))
		}
		return append(pairs, "do", "tick")
	}
	t.Fatalf("no box for %s", unit)
	return nil
}

// The boxes of a revision are on the disk, seen by another desk and after a restart,
// and gone when what is read is another. The sentence is the one on the strips' page.
func TestChangeNow(t *testing.T) {
	d := opened(t)
	const at, journal = "/revise/fire/period-2-rev-2.toml", "fire/period-2-rev-2.acknowledged.jsonl"
	show := func(d *desk) string { return body(t, answer(d, ask(d, http.MethodGet, at, nil))) }
	page := show(d)
	sentence := html.UnescapeString(regexp.MustCompile(`<p class="aloud"[^>]*>(.*)</p>`).FindStringSubmatch(page)[1])

	request, err := papers.Ask(map[string]string{"strips": "true", "since": "fire/plan.toml"})
	require.NoError(t, err)
	j := papers.NewJob(files.NewReaderWithin(t.Context(), strings.NewReader(""), d.Folder), voice.New(io.Discard, io.Discard), "fire/period-2-rev-2.toml", request)
	require.NoError(t, j.Open())
	require.NoError(t, j.LayOut(context.Background()))
	var printed []string
	pages := j.Sheets[0].Doc.Pages
	for _, item := range pages[len(pages)-1].Items {
		if text, ok := item.(layout.Text); ok {
			printed = append(printed, text.S)
		}
	}
	assert.Contains(t, strings.Join(strings.Fields(strings.Join(printed, " ")), " "), strings.Join(strings.Fields(sentence), " "))

	units := regexp.MustCompile(`name="unit" value="([^"]*)"`).FindAllStringSubmatch(page, -1)
	require.NotEmpty(t, units)
	unit := units[0][1]
	version := d.version("fire/period-2-rev-2.toml")
	require.Equal(t, at, post(t, d, at, tickFields(t, page, unit)...))
	assert.NotEqual(t, version, d.version("fire/period-2-rev-2.toml"), "open pages are told")
	assert.Equal(t, 1, strings.Count(show(d), `value="tick" aria-pressed="true"`))

	// A line that broke off harms nothing; another desk sees what was ticked.
	data, err := os.ReadFile(journal)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(journal, append(data, `{"at":"2027-08`...), 0o644))
	other := openedIn(t, ".")
	page = show(other)
	assert.Equal(t, 1, strings.Count(page, `value="tick" aria-pressed="true"`))
	if len(units) > 1 {
		require.Equal(t, at, post(t, other, at, tickFields(t, page, units[1][1])...))
		assert.Equal(t, 2, strings.Count(show(d), `value="tick" aria-pressed="true"`))
		require.Equal(t, at, post(t, d, at, tickFields(t, show(d), units[1][1])...))
		assert.Equal(t, 1, strings.Count(show(other), `value="tick" aria-pressed="true"`))
	}

	// What is read becomes another: the tick was for other words, and an old page's is refused.
	stale := tickFields(t, page, unit)
	text, err := os.ReadFile("fire/period-2-rev-2.toml")
	require.NoError(t, err)
	changed := strings.Replace(string(text), "channel  = \"QB TAC 8\"", "channel  = \"QB TAC 7\"", 1)
	require.NotEqual(t, string(text), changed)
	require.NoError(t, os.WriteFile("fire/period-2-rev-2.toml", []byte(changed), 0o644))
	page = show(d)
	assert.NotContains(t, page, `value="tick" aria-pressed="true"`)
	assert.Contains(t, page, "for other words: ask again")
	assert.Contains(t, post(t, d, at, stale...), "tick again; nothing was kept")

	// Nothing is written through a name that leads elsewhere.
	require.NoError(t, os.Remove(journal))
	require.NoError(t, os.WriteFile("elsewhere", nil, 0o644))
	require.NoError(t, os.Symlink("../elsewhere", journal))
	assert.Contains(t, show(d), "no regular file")
	post(t, d, at, tickFields(t, page, unit)...)
	data, err = os.ReadFile("elsewhere")
	require.NoError(t, err)
	assert.Empty(t, data)
}
