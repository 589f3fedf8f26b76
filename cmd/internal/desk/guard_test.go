package desk

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const examples = "../../../examples"

// opened is a desk on a copy of the example, on port 7000 as far as it knows. The
// process stands in its folder.
func opened(t *testing.T) *desk {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "fire"), os.DirFS(filepath.Join(examples, "thimble-gulch"))))
	return openedIn(t, dir)
}

func openedIn(t testing.TB, dir string) *desk {
	t.Helper()
	t.Chdir(dir)
	root, err := os.OpenRoot(".")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	d := newDesk(ctx, Options{
		Folder: root,
		Run: func(_ context.Context, _ *os.Root, args []string, _ io.Reader, out, _ io.Writer) int {
			fmt.Fprintln(out, "answer of", args[0])
			return 0
		},
		Tell: func(format string, args ...any) { t.Errorf(format, args...) },
	}, 7000, "token")
	t.Cleanup(func() {
		cancel()
		d.close()
		root.Close()
	})
	return d
}

// ask is a request as the browser of this machine sends it.
func ask(d *desk, method, target string, form url.Values) *http.Request {
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequest(method, d.origin()+target, body)
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", d.origin())
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	r.AddCookie(&http.Cookie{Name: d.cookie(), Value: d.token})
	return r
}

func answer(d *desk, r *http.Request) *http.Response {
	w := httptest.NewRecorder()
	d.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(data)
}

// broken is a plan with an error that one edit mends: a division that is misspelled.
func broken(t *testing.T, d *desk) (name string, before []byte) {
	t.Helper()
	name = "fire/broken.toml"
	text, err := os.ReadFile(filepath.FromSlash("fire/plan.toml"))
	require.NoError(t, err)
	before = []byte(strings.Replace(string(text), "\naircraft ", "\nairkraft ", 1))
	require.NotEqual(t, text, before)
	require.NoError(t, os.WriteFile(filepath.FromSlash(name), before, 0o644))
	require.NotEmpty(t, d.shelf.get(name).Findings)
	return name, before
}

// apply is the form that makes the first edit offered.
func apply(t *testing.T, d *desk, name string) url.Values {
	t.Helper()
	st := d.shelf.get(name)
	for i, f := range st.Findings {
		if len(f.Edits) > 0 && !f.Edits[0].ByHand {
			return url.Values{"do": {"apply"}, "key": {st.Key()}, "n": {strconv.Itoa(i + 1)}, "edit": {"0"}}
		}
	}
	t.Fatal("no edit is offered")
	return nil
}

// Whoever may not is told 403, and nothing is done: the file that the request would
// change is as it was. (What a browser sends, and what must not be believed: the Fetch
// standard on Sec-Fetch-Site and Origin, RFC 6265bis on cookies; DNS rebinding is a
// name of somebody else's that leads to 127.0.0.1.)
func TestForbidden(t *testing.T) {
	for name, meddle := range map[string]func(r *http.Request){
		"no token":        func(r *http.Request) { r.Header.Del("Cookie") },
		"a wrong token":   func(r *http.Request) { r.Header.Set("Cookie", "slotcard-desk-7000=tokem") },
		"another desk's":  func(r *http.Request) { r.Header.Set("Cookie", "slotcard-desk-7001=token") },
		"an empty token":  func(r *http.Request) { r.Header.Set("Cookie", "slotcard-desk-7000=") },
		"rebinding":       func(r *http.Request) { r.Host = "evil.example:7000" },
		"no port":         func(r *http.Request) { r.Host = "127.0.0.1" },
		"another port":    func(r *http.Request) { r.Host = "127.0.0.1:7001" },
		"no host":         func(r *http.Request) { r.Host = "" },
		"a host in front": func(r *http.Request) { r.Host = "localhost:7000.evil.example" },
		"cross-site":      func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") },
		"same-site":       func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") },
		"another origin": func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "http://127.0.0.1:7001")
		},
		"origin null": func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			r.Header.Set("Origin", "null")
		},
	} {
		t.Run(name, func(t *testing.T) {
			d := opened(t)
			file, before := broken(t, d)
			r := ask(d, "POST", "/findings/"+file, apply(t, d, file))
			meddle(r)
			got := answer(d, r)
			assert.Equal(t, http.StatusForbidden, got.StatusCode)
			after, err := os.ReadFile(filepath.FromSlash(file))
			require.NoError(t, err)
			assert.Equal(t, before, after)
			assert.Empty(t, got.Cookies())
			assert.NotContains(t, body(t, got), d.token)
		})
	}
	t.Run("who may", func(t *testing.T) { // else nothing above would be proven
		d := opened(t)
		file, before := broken(t, d)
		got := answer(d, ask(d, "POST", "/findings/"+file, apply(t, d, file)))
		assert.Equal(t, http.StatusSeeOther, got.StatusCode, body(t, got))
		after, err := os.ReadFile(filepath.FromSlash(file))
		require.NoError(t, err)
		assert.Equal(t, strings.Replace(string(before), "\nairkraft ", "\naircraft ", 1), string(after))
	})
}

// A name that leads out of the folder gets 403, however it is written, and so do a link
// out of it, what is no .toml file, and a folder. None of it is read.
func TestPathsLeadNowhere(t *testing.T) {
	outer := t.TempDir()
	plan, err := os.ReadFile(filepath.Join(examples, "thimble-gulch", "plan.toml"))
	require.NoError(t, err)
	secret := strings.Replace(string(plan), "Thimble Gulch", "Secret Gulch", 1)
	require.NoError(t, os.WriteFile(filepath.Join(outer, "secret.toml"), []byte(secret), 0o644))
	dir := filepath.Join(outer, "desk")
	require.NoError(t, os.CopyFS(filepath.Join(dir, "fire"), os.DirFS(filepath.Join(examples, "thimble-gulch"))))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("Secret Gulch"), 0o644))
	if runtime.GOOS != "windows" {
		require.NoError(t, os.Symlink("../secret.toml", filepath.Join(dir, "link.toml")))
		require.NoError(t, os.Symlink(filepath.Join(outer, "secret.toml"), filepath.Join(dir, "whole.toml")))
		require.NoError(t, os.Symlink("..", filepath.Join(dir, "up")))
	}
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.toml"), 0o755))
	d := openedIn(t, dir)
	for _, file := range []string{
		"%2e%2e/secret.toml", "fire/..%2f..%2fsecret.toml", "%2fetc/passwd", url.PathEscape(filepath.Join(outer, "secret.toml")),
		"link.toml", "whole.toml", "up/secret.toml", "notes.txt", "folder.toml", "fire", "nothing.toml", "fire/plan.toml%00.toml", ".slotcard/x.toml",
	} {
		for _, view := range []string{"cards", "findings", "sheets"} {
			got := answer(d, ask(d, "GET", "/"+view+"/"+file, nil))
			said := body(t, got)
			assert.Equal(t, http.StatusForbidden, got.StatusCode, "%s %s", view, file)
			assert.NotContains(t, said, "Secret", file)
		}
	}
	// A plan in the folder whose load is not: its findings say so, and show none of it.
	require.NoError(t, os.WriteFile("reaches.toml", []byte(strings.Replace(string(plan), `load = "load.toml"`, `load = "../secret.toml"`, 1)), 0o644))
	said := body(t, answer(d, ask(d, "GET", "/findings/reaches.toml", nil)))
	assert.Contains(t, said, "lies outside of the folder")
	assert.NotContains(t, said, "Secret")
}

// No page lists files that the desk does not know, and none is served but its own.
func TestNoListing(t *testing.T) {
	d := opened(t)
	for _, target := range []string{"/static/", "/static/vendor/", "/static/../view.go", "/static/vendor/htmx.org/LICENSE", "/fire/", "/plan.toml", "/other/plan.toml", "/nothing", "/enter"} {
		got := answer(d, ask(d, "GET", target, nil))
		assert.Contains(t, []int{http.StatusNotFound, http.StatusTemporaryRedirect, http.StatusMovedPermanently}, got.StatusCode, target)
		assert.NotContains(t, body(t, got), "plan.toml", target)
	}
}

// The token becomes a cookie once, which no script reads and no other site sends, and
// then is nowhere: not in an address, not in a page.
func TestToken(t *testing.T) {
	d := opened(t)
	r := httptest.NewRequest("GET", d.entrance(), nil)
	got := answer(d, r)
	require.Len(t, got.Cookies(), 1)
	c := got.Cookies()[0]
	assert.True(t, c.HttpOnly)
	assert.Equal(t, http.SameSiteStrictMode, c.SameSite)
	assert.Equal(t, "/", c.Path)
	assert.Empty(t, c.Domain)
	assert.NotContains(t, got.Header.Get("Refresh")+body(t, got), d.token)
	for _, bad := range []string{"/enter/", "/enter/tokem", "/enter/token2", "/enter/token/x"} {
		got := answer(d, httptest.NewRequest("GET", d.origin()+bad, nil))
		assert.Equal(t, http.StatusForbidden, got.StatusCode, bad)
		assert.Empty(t, got.Cookies(), bad)
	}
	for _, page := range []string{"/folder/", "/cards/fire/plan.toml", "/findings/fire/plan.toml"} {
		got := answer(d, ask(d, "GET", page, nil))
		said := body(t, got)
		assert.Equal(t, http.StatusOK, got.StatusCode, page)
		assert.NotContains(t, said, d.token, page)
		assert.Equal(t, policy, got.Header.Get("Content-Security-Policy"))
		assert.Equal(t, "no-referrer", got.Header.Get("Referrer-Policy"))
		assert.Equal(t, "nosniff", got.Header.Get("X-Content-Type-Options"))
		assert.NotContains(t, said, "<script>", page)
		assert.NotContains(t, said, " style=", page)
		assert.NotContains(t, strings.ReplaceAll(said, `xmlns="http://www.w3.org/2000/svg"`, ""), "http://", "no address of elsewhere: "+page)
	}
}

// A fault of a view ends that request and no more, and is said.
func TestFault(t *testing.T) {
	d := opened(t)
	var said string
	d.Tell = func(format string, args ...any) { said = fmt.Sprintf(format, args...) }
	d.mux.HandleFunc("GET /fault", func(http.ResponseWriter, *http.Request) { panic("a bug") })
	got := answer(d, ask(d, "GET", "/fault", nil))
	assert.Equal(t, http.StatusInternalServerError, got.StatusCode)
	assert.NotContains(t, body(t, got), "a bug")
	assert.Equal(t, "slotcard: a fault of the desk at /fault: a bug", said)
}

// What a page may send is bounded.
func TestBodiesAreBounded(t *testing.T) {
	d := opened(t)
	r := ask(d, "POST", "/findings/fire/plan.toml", url.Values{"do": {"apply"}, "key": {strings.Repeat("x", maxBody)}})
	got := answer(d, r)
	assert.GreaterOrEqual(t, got.StatusCode, 400)
}

// An edit is made only to the text that it was offered for, and only one that the
// checks offer, by whoever may.
func TestApply(t *testing.T) {
	d := opened(t)
	file, _ := broken(t, d)
	form := apply(t, d, file)
	// An editor saves meanwhile: a comment more.
	now, err := os.ReadFile(filepath.FromSlash(file))
	require.NoError(t, err)
	now = append(now, "\n# saved meanwhile\n"...)
	require.NoError(t, os.WriteFile(filepath.FromSlash(file), now, 0o644))
	got := answer(d, ask(d, "POST", "/findings/"+file, form))
	assert.Equal(t, http.StatusUnprocessableEntity, got.StatusCode)
	assert.Contains(t, body(t, got), "The file has changed since this page showed it")
	after, _ := os.ReadFile(filepath.FromSlash(file))
	assert.Equal(t, string(now), string(after))

	form = apply(t, d, file)
	form.Set("edit", "7")
	assert.Equal(t, http.StatusUnprocessableEntity, answer(d, ask(d, "POST", "/findings/"+file, form)).StatusCode)

	// Of a channel that is misspelled a person decides.
	byHand := strings.Replace(string(now), "\nairkraft ", "\naircraft ", 1)
	byHand = strings.Replace(byHand, "QB TAC 3", "QB TAX 3", 1)
	require.NoError(t, os.WriteFile(filepath.FromSlash(file), []byte(byHand), 0o644))
	st := d.shelf.get(file)
	form = url.Values{"do": {"apply"}, "key": {st.Key()}, "n": {"1"}, "edit": {"0"}}
	require.True(t, st.Findings[0].Edits[0].ByHand)
	got = answer(d, ask(d, "POST", "/findings/"+file, form))
	assert.Equal(t, http.StatusUnprocessableEntity, got.StatusCode)
	assert.Contains(t, body(t, got), "nothing was written")
	after, _ = os.ReadFile(filepath.FromSlash(file))
	assert.Equal(t, byHand, string(after))
}

// Two tabs make two edits of one text at once: one is made, the other is told to look
// again, and nothing is lost.
func TestTwoTabs(t *testing.T) {
	d := opened(t)
	file, _ := broken(t, d)
	text, err := os.ReadFile(filepath.FromSlash(file))
	require.NoError(t, err)
	twice := strings.Replace(string(text), "\nprepared_by ", "\npreparet_by ", 1)
	require.NoError(t, os.WriteFile(filepath.FromSlash(file), []byte(twice), 0o644))
	st := d.shelf.get(file)
	var forms []url.Values
	for i, f := range st.Findings {
		for k, e := range f.Edits {
			if !e.ByHand && strings.Contains(e.Changes[0].Old, "kraft") || strings.Contains(e.Changes[0].Old, "paret") {
				forms = append(forms, url.Values{"do": {"apply"}, "key": {st.Key()}, "n": {strconv.Itoa(i + 1)}, "edit": {strconv.Itoa(k)}})
				break
			}
		}
	}
	require.GreaterOrEqual(t, len(forms), 2)
	status := make(chan int)
	for range 4 {
		for _, form := range forms {
			go func() { status <- answer(d, ask(d, "POST", "/findings/"+file, form)).StatusCode }()
		}
	}
	made := 0
	for range 4 * len(forms) {
		switch got := <-status; got {
		case http.StatusSeeOther:
			made++
		default:
			assert.Equal(t, http.StatusUnprocessableEntity, got)
		}
	}
	assert.Equal(t, 1, made)
	after, err := os.ReadFile(filepath.FromSlash(file))
	require.NoError(t, err)
	one := strings.Contains(string(after), "airkraft") != strings.Contains(string(after), "preparet_by")
	assert.True(t, one, "one edit is made, and whole")
}

// The desk ends a while after its last page was closed, and not before there was one.
func TestClosed(t *testing.T) {
	p := newPages()
	assert.Zero(t, p.closedFor())
	a, b := p.add("x.toml"), p.add("")
	p.remove(a)
	assert.Zero(t, p.closedFor(), "one is open")
	p.remove(b)
	time.Sleep(time.Millisecond)
	assert.Positive(t, p.closedFor())
	p.hidden()
	assert.Negative(t, p.closedFor(), "one is open that nobody looks at")
}

// A broken file keeps the last good cards, and says so.
func TestBrokenKeepsTheLastGood(t *testing.T) {
	d := opened(t)
	const file = "fire/plan.toml"
	page := func() string { return body(t, answer(d, ask(d, "GET", "/cards/"+file, nil))) }
	good := page()
	assert.Contains(t, good, "QB TAC 3")
	assert.NotContains(t, good, "stale")
	text, err := os.ReadFile(filepath.FromSlash(file))
	require.NoError(t, err)
	for _, bad := range []string{strings.Replace(string(text), "QB TAC 3", "QB TAX 3", 1), "load = [", ""} {
		require.NoError(t, os.WriteFile(filepath.FromSlash(file), []byte(bad), 0o644))
		said := page()
		assert.Contains(t, said, " stale")
		assert.Contains(t, said, "The file has errors: what you see is from")
		assert.Contains(t, said, "QB TAC 3", "the last good card")
		if strings.Contains(bad, "QB TAX 3") {
			said := body(t, answer(d, ask(d, "GET", "/findings/"+file, nil)))
			assert.Contains(t, said, `data-hit=""`, "the slot is outlined on the card")
			assert.Contains(t, said, "Where it stands on the card of")
		}
	}
	require.NoError(t, os.WriteFile(filepath.FromSlash(file), text, 0o644))
	assert.NotContains(t, page(), "stale")
}

// Two desks on one file say so to each other, and leave no mark when they close.
func TestTwoDesks(t *testing.T) {
	a := opened(t)
	a.presence.lives = time.Hour // nobody renews marks here, however long a page takes
	root, err := os.OpenRoot(".")
	require.NoError(t, err)
	defer root.Close()
	b := newPresence(root)
	assert.False(t, a.presence.others("fire/plan.toml"))
	b.open("fire/plan.toml")
	assert.True(t, a.presence.others("fire/plan.toml"))
	assert.False(t, a.presence.others("fire/period-3.toml"))
	assert.False(t, b.others("fire/plan.toml"), "not of itself")
	assert.Contains(t, body(t, answer(a, ask(a, "GET", "/cards/fire/plan.toml", nil))), "open in another desk")
	old := time.Now().Add(-2 * time.Hour)
	require.NoError(t, os.Chtimes(filepath.FromSlash(b.mark("fire")), old, old))
	assert.False(t, a.presence.others("fire/plan.toml"), "of a desk that was killed")
	b.beat()
	assert.True(t, a.presence.others("fire/plan.toml"))
	b.close()
	assert.False(t, a.presence.others("fire/plan.toml"))
	assert.NoDirExists(t, filepath.Join("fire", hidden))
}

// Every view has a template that stands, and shows every kind of file that it is for.
func TestViews(t *testing.T) {
	d := opened(t)
	for _, v := range registered {
		for kind, file := range map[string]string{"plan": "fire/plan.toml", "load": "fire/load.toml", "folder": ""} {
			for _, k := range v.Kinds {
				if k == kind {
					got := answer(d, ask(d, "GET", address(v.Name, file), nil))
					said := body(t, got)
					assert.Equal(t, http.StatusOK, got.StatusCode, "%s of a %s: %s", v.Name, kind, said)
					assert.NotContains(t, said, `role="alert"`, "%s of a %s", v.Name, kind)
				}
			}
		}
	}
}

// First page: under 150 ms. A save to a new page: under 300 ms, of which the watcher
// takes settling.
func BenchmarkFirstPage(b *testing.B) {
	for b.Loop() {
		st := newShelf(mustRoot(b)).get("thimble-gulch/plan.toml")
		if _, err := st.Good.make(b.Context(), nil, true); err != nil {
			b.Fatal(err)
		}
	}
}

func mustRoot(b *testing.B) *os.Root {
	root, err := os.OpenRoot(examples)
	if err != nil {
		b.Fatal(err)
	}
	return root
}
