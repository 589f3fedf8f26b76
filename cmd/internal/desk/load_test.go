package desk

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/plan"
	"slotcard/plan/radio"
)

const loadFile = "fire/load.toml"

func loadText(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash(loadFile))
	require.NoError(t, err)
	return string(text)
}

func look(t *testing.T, d *desk, target string) string {
	t.Helper()
	r := answer(d, ask(d, http.MethodGet, target, nil))
	require.Equal(t, http.StatusOK, r.StatusCode, target)
	return html.UnescapeString(body(t, r))
}

var places = regexp.MustCompile(`data-pick [^>]*><span class="code">([0-9]+-[0-9]+)</span><b>([^<]*)</b>`)

// Whatever way the load is looked through, each of its channels is there once, wherever
// it stands; by tone and site, each that has one.
func TestLoadIsWhole(t *testing.T) {
	d := opened(t)
	l := d.shelf.get(loadFile).Load
	programmings := map[plan.Programming]bool{}
	for _, c := range l.Channels() {
		programmings[c.Programming()] = true
	}
	for by, want := range map[string]int{"": len(l.Channels()), "name": len(programmings), "frequency": len(programmings)} {
		seen := 0
		for in := 1; ; in++ {
			page := look(t, d, fmt.Sprintf("/load/%s?by=%s&in=%d", loadFile, by, in))
			seen += len(places.FindAllString(page, -1))
			if !strings.Contains(page, "Next →") {
				break
			}
		}
		assert.Equal(t, want, seen, "by %q", by)
	}
	for i, s := range l.Sites {
		page := look(t, d, fmt.Sprintf("/load/%s?by=site&in=%d", loadFile, i+1))
		var names []string
		for _, m := range places.FindAllStringSubmatch(page, -1) {
			names = append(names, m[2])
		}
		assert.ElementsMatch(t, s.Channels, names, s.Name)
	}
	// Tone 4 opens Bellwether, by the file.
	page := look(t, d, "/load/"+loadFile+"?by=tone&in=4")
	assert.Contains(t, page, "Tone 4: 146.2")
	assert.Contains(t, page, "It opens Bellwether.")
	assert.Contains(t, page, "QB CMD 1")
}

// What is wrong with a channel, and who uses it, stands at its row.
func TestLoadSaysAtTheRow(t *testing.T) {
	d := opened(t)
	page := look(t, d, "/load/"+loadFile+"?q=qb+tac+1")
	assert.Contains(t, page, "Thimble Gulch, period 3")
	bad := strings.NewReplacer("2027-03-01", "2019-03-01", "2028-03-31", "2020-03-31").Replace(loadText(t))
	bad = strings.Replace(bad, "name    = \"QB TAC 2\"", "name    = \"QB TAC 1\"", 1)
	require.NoError(t, os.WriteFile(filepath.FromSlash(loadFile), []byte(bad), 0o644))
	page = look(t, d, "/load/"+loadFile)
	assert.Contains(t, page, "This load expired on 2020-03-31")
	row := func(ref string) string {
		_, rest, _ := strings.Cut(page, `<span class="code">`+ref+"<")
		rest, _, _ = strings.Cut(rest, "</li>")
		return rest
	}
	assert.Contains(t, row("1-04"), "at-row")
	assert.Contains(t, row("1-05"), "at-row", "both take part in it")
	assert.NotContains(t, row("1-06"), "at-row")
}

// Each post is one edit of the file, in which all else stays byte for byte, and undo
// takes back each.
func TestLoadIsEdited(t *testing.T) {
	d := opened(t)
	const at = "/load/" + loadFile
	first := loadText(t)
	texts := []string{first}
	step := func(where int, replaced []string, pairs ...string) {
		t.Helper()
		location := post(t, d, at, pairs...)
		require.True(t, strings.HasPrefix(location, fmt.Sprintf("%s?at=%d", at, where)), location)
		want := texts[len(texts)-1]
		for i := 0; i < len(replaced); i += 2 {
			require.Contains(t, want, replaced[i])
			want = strings.Replace(want, replaced[i], replaced[i+1], 1)
		}
		require.Equal(t, want, loadText(t))
		texts = append(texts, want)
	}
	fields := func(pairs ...string) []string {
		all := []string{"mode", "analog", "width", "narrow"}
		return append(all, pairs...)
	}
	// 1-10 is in no plan of the folder.
	step(9, []string{"name    = \"QB TAC 7\"\nuse     = \"tactical\"\nrx      = 158.7825\n", "name    = \"QB TAC 9\"\nuse     = \"tactical\"\nrx      = 158.7900\nrx_tone = 146.2\nremarks = \"new\"\n"},
		fields("do", "set", "i", "9", "was", "1-10 QB TAC 7", "number", "10", "called", " QB  TAC 9", "use", "tactical", "rx", "158,79", "rx_tone", "tone 4", "remarks", "new")...)
	// One that plans have is not lost by chance.
	typed := fields("do", "set", "i", "4", "was", "1-05 QB TAC 2", "number", "5", "called", "QB TAC X", "use", "tactical", "rx", "153.74")
	assert.Contains(t, post(t, d, at, typed...), "A plan would lose a channel by this: Thimble Gulch, period 2")
	assert.Contains(t, post(t, d, at, "do", "delete", "i", "4", "was", "1-05 QB TAC 2"), "nothing was written")
	require.Equal(t, texts[1], loadText(t))
	step(4, []string{`"QB TAC 2"`, `"QB TAC X"`}, append(typed, "sure", "1")...)
	page := look(t, d, post(t, d, at, fields("do", "set", "i", "3", "was", "1-04 QB TAC 1", "number", "4", "called", "QB TAC 1", "use", "tactical", "rx", "151.355")...))
	assert.Contains(t, page, "its list is programmed otherwise now, print it again", "period 3 has it")
	texts = append(texts, loadText(t))
	// What it says of itself.
	about := []string{"do", "about", "name", "Quillback Range cooperators", "edition", "2027", "color", "blue", "effective", "2027-03-01", "expires", "2028-03-31", "positions", "16", "exercise", "1"}
	require.Equal(t, at, post(t, d, at, about...))
	texts = append(texts, strings.Replace(texts[len(texts)-1], `"orange"`, `"blue"`, 1))
	require.Equal(t, texts[len(texts)-1], loadText(t))
	// What is not a value is refused, and stays in its field.
	for field, wrong := range map[string]string{"rx": "abc", "rx_tone": "tone 99", "number": "0", "use": "chatting", "called": " "} {
		form := url.Values{"do": {"set"}, "i": {"9"}, "was": {"1-10 QB TAC 9"}, "number": {"10"}, "called": {"QB TAC 9"}, "use": {"tactical"}, "rx": {"158.79"}}
		form.Set(field, wrong)
		r := answer(d, ask(d, http.MethodPost, at, form))
		assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode, field)
		if field != "use" {
			assert.Contains(t, body(t, r), `value="`+wrong+`"`, field)
		}
	}
	assert.Contains(t, post(t, d, at, "do", "delete", "i", "9", "was", "1-10 QB TAC 7"), "has changed")
	assert.Equal(t, texts[len(texts)-1], loadText(t))
	for loadText(t) != first {
		require.Equal(t, at, post(t, d, "/history/"+loadFile, "do", "undo", "back", "load"))
	}
}

// bigLoad is a load of 50 groups with 40 channels each.
func bigLoad() string {
	var b strings.Builder
	b.WriteString("[load]\nname = \"Big\"\nedition = \"2027\"\ncolor = \"orange\"\neffective = 2027-03-01\nexpires = 2028-03-31\n\n" +
		"[radio]\nlist_positions = 16\nname_length = 10\nbands = [[136.0, 174.0]]\nmodes = [\"analog\"]\n")
	for g := range 50 {
		fmt.Fprintf(&b, "\n[[group]]\nnumber = %d\nname = \"Group %d\"\n", g+1, g+1)
		for c := range 40 {
			n := g*40 + c
			fmt.Fprintf(&b, "\n[[group.channel]]\nnumber = %d\nname = \"QB %d\"\nuse = \"tactical\"\nrx = %s\nrx_tone = 103.5\ntx_tone = 146.2\n", c+1, n, radio.Hertz(150_000_000+2500*n))
		}
	}
	return b.String()
}

// A page of a load of 2,000 channels, from the request to its last byte.
func BenchmarkLoad2000(b *testing.B) {
	dir := b.TempDir()
	require.NoError(b, os.MkdirAll(filepath.Join(dir, "fire"), 0o755))
	require.NoError(b, os.WriteFile(filepath.Join(dir, "fire", "load.toml"), []byte(bigLoad()), 0o644))
	d := openedIn(b, dir)
	for name, at := range map[string]string{"group": "", "name": "?by=name", "frequency": "?by=frequency", "tone": "?by=tone", "find": "?q=qb+1", "find-frequency": "?q=154.28"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				r := answer(d, ask(d, http.MethodGet, "/load/"+loadFile+at, nil))
				require.Equal(b, http.StatusOK, r.StatusCode)
			}
		})
	}
}

// A change of a channel in a load of 2,000 that three plans are on, to the page that
// shows it.
func BenchmarkLoadEdit2000(b *testing.B) {
	dir := b.TempDir()
	require.NoError(b, os.MkdirAll(filepath.Join(dir, "fire"), 0o755))
	require.NoError(b, os.WriteFile(filepath.Join(dir, "fire", "load.toml"), []byte(bigLoad()), 0o644))
	for i := range 3 {
		text := fmt.Sprintf("load = \"load.toml\"\n[incident]\nname = \"Fire %d\"\nperiod = 1\n[[slot]]\nchannel = \"QB 1\"\n[[slot]]\nchannel = \"QB 700\"\n", i)
		require.NoError(b, os.WriteFile(filepath.Join(dir, "fire", fmt.Sprintf("plan-%d.toml", i)), []byte(text), 0o644))
	}
	d := openedIn(b, dir)
	at, n := "/load/"+loadFile, 0
	for b.Loop() {
		n++
		form := url.Values{"do": {"set"}, "i": {"5"}, "was": {"1-06 QB 5"}, "number": {"6"}, "called": {"QB 5"}, "use": {"tactical"}, "rx": {"150.0125"}, "rx_tone": {"103.5"}, "tx_tone": {"146.2"}, "remarks": {fmt.Sprint(n)}}
		r := answer(d, ask(d, http.MethodPost, at, form))
		require.Equal(b, http.StatusSeeOther, r.StatusCode)
		require.Equal(b, http.StatusOK, answer(d, ask(d, http.MethodGet, r.Header.Get("Location"), nil)).StatusCode)
	}
}
