package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The desk in a real browser: Debian's chromium, driven by chromedp. Both are a second
// opinion: without SLOTCARD_SECOND_OPINIONS these tests skip where chromium is missing.

// deskTab is a tab of a browser on a desk.
type deskTab struct {
	t      *testing.T
	dir    string // the folder of the desk
	origin string
	ctx    context.Context

	mu       sync.Mutex
	requests []string // addresses that the browser asked for
}

// lines collects what a program says.
type lines struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

var entranceSaid = regexp.MustCompile(`(http://127\.0\.0\.1:[0-9]+)/enter/\S+`)

// withExamples puts a copy of the examples into the folder of a desk.
func withExamples(t *testing.T, dir string) {
	for _, example := range []string{"thimble-gulch", "first-hour"} {
		require.NoError(t, os.CopyFS(filepath.Join(dir, example), os.DirFS(filepath.Join("..", "..", "examples", example))))
	}
}

// openDesk starts the program in a folder that fill makes, and gives its entrance.
func openDesk(t *testing.T, fill func(t *testing.T, dir string)) (dir, entrance string) {
	dir = t.TempDir()
	fill(t, dir)
	t.Chdir(dir) // the desk stands in its folder; this goes back
	ctx, cancel := context.WithCancel(context.Background())
	var said lines
	ended := make(chan int)
	go func() {
		ended <- runContext(ctx, []string{"desk", "--no-browser", "--stay"}, strings.NewReader(""), &said, &said)
	}()
	t.Cleanup(func() {
		cancel()
		assert.Equal(t, exitFine, <-ended, said.String())
	})
	require.Eventually(t, func() bool { return entranceSaid.MatchString(said.String()) }, patience, 5*time.Millisecond, &said)
	return dir, entranceSaid.FindString(said.String())
}

// patience is how long something may take that takes milliseconds on an idle machine.
const patience = 60 * time.Second

// shared is the one browser of all tests: each has a profile of its own in it, without
// the cookies of the others.
var shared struct {
	sync.Mutex
	ctx   context.Context
	close func()
}

func closeBrowser() {
	if shared.close != nil {
		shared.close()
	}
}

func chromium(t *testing.T) context.Context {
	t.Helper()
	program, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("SLOTCARD_SECOND_OPINIONS") != "" {
			t.Fatal("chromium is not here: a second opinion is missing")
		}
		t.Skip("without chromium, the desk is not tried in a browser")
	}
	shared.Lock()
	defer shared.Unlock()
	if shared.ctx != nil {
		return shared.ctx
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.WSURLReadTimeout(2*patience), // a machine with much to do starts it slowly
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	allocator, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	require.NoError(t, chromedp.Do(ctx)) // starts it
	shared.ctx, shared.close = ctx, func() { cancel(); stop() }
	return ctx
}

// browse opens a desk on the examples in the browser.
func browse(t *testing.T) *deskTab {
	t.Helper()
	return browseIn(t, withExamples)
}

func browseIn(t *testing.T, fill func(t *testing.T, dir string)) *deskTab {
	t.Helper()
	parent := chromium(t)
	b := &deskTab{t: t}
	var entrance string
	b.dir, entrance = openDesk(t, fill)
	b.origin = entranceSaid.FindStringSubmatch(entrance)[1]
	ctx, cancel := chromedp.NewContext(parent, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	b.ctx, cancel = context.WithTimeout(ctx, 20*time.Minute)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Listen(b.ctx, func(event any) {
		if sent, ok := event.(*network.EventRequestWillBeSent); ok {
			b.mu.Lock()
			b.requests = append(b.requests, sent.Request.URL)
			b.mu.Unlock()
		}
	}))
	_, err := chromedp.Call(b.ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	b.do(chromedp.Navigate(entrance), chromedp.WaitVisible("#page"))
	return b
}

func (b *deskTab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// to goes to a page.
func (b *deskTab) to(path string) {
	b.t.Helper()
	b.do(chromedp.Navigate(b.origin+path), chromedp.WaitVisible("main"))
}

// light sets the theme as the switch does.
func (b *deskTab) light(theme string) {
	b.t.Helper()
	b.do(chromedp.Click(fmt.Sprintf(`button[name="theme"][value=%q]`, theme)), chromedp.WaitVisible(fmt.Sprintf(`html[data-theme=%q] main`, theme)))
}

// is evaluates an expression of the page.
func is[T any](b *deskTab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(b.t, err, expression)
	return v
}

// soon waits until an expression holds.
func (b *deskTab) soon(expression string) {
	b.t.Helper()
	until := time.Now().Add(patience)
	for !is[bool](b, `(() => { try { return !!(`+expression+`) } catch { return false } })()`) {
		if time.Now().After(until) {
			b.t.Fatalf("never: %s\nthe page is %s, the focus on %s\nit says %s", expression, is[string](b, "location.href"),
				is[string](b, "document.activeElement.outerHTML.slice(0, 300)"), is[string](b, `[...document.querySelectorAll("[role=alert], [role=status]")].map((e) => e.textContent.trim()).join("; ")`))
		}
		time.Sleep(10 * time.Millisecond)
	}
}

// press presses keys, one after another, as a keyboard does: what a page takes for
// itself when a key goes down is not typed.
func (b *deskTab) press(keys string, modifiers ...chromedp.Modifier) {
	b.t.Helper()
	for _, r := range keys {
		strokes := kb.Encode(r)
		for _, k := range strokes {
			if k.Type == kb.KeyChar {
				continue
			}
			for _, m := range modifiers {
				k.Modifiers |= int64(m)
			}
			if k.Type == kb.KeyDown && len(strokes) == 3 && len(modifiers) == 0 {
				k.Text, k.UnmodifiedText = strokes[1].Text, strokes[1].UnmodifiedText
			}
			_, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, *k)
			require.NoError(b.t, err)
		}
	}
}

// onlyHere are the requests that went to another machine or program; the entrance of
// the browser's own pages is none.
func (b *deskTab) elsewhere() (out []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range b.requests {
		u, err := url.Parse(r)
		if err == nil && (u.Scheme == "data" || u.Scheme == "blob" || u.Scheme == "about") || strings.HasPrefix(r, b.origin+"/") {
			continue
		}
		out = append(out, r)
	}
	return out
}

// screens are the pages that are looked at, each in every light.
var screens = map[string]string{
	"folder":       "/folder/",
	"cards":        "/cards/thimble-gulch/plan.toml",
	"file":         "/file/thimble-gulch/plan.toml",
	"revise":       "/revise/thimble-gulch/period-2-rev-2.toml",
	"next":         "/next/thimble-gulch/plan.toml",
	"new":          "/new/",
	"draft":        "/draft/",
	"sizes":        "/sizes/thimble-gulch/plan.toml",
	"findings":     "/findings/thimble-gulch/broken.toml",
	"no-findings":  "/findings/thimble-gulch/plan.toml",
	"sheets":       "/sheets/thimble-gulch/plan.toml",
	"grid":         "/sheets/thimble-gulch/plan.toml?paper=wall+grid",
	"fire":         "/fire/thimble-gulch/plan.toml",
	"strips":       "/sheets/thimble-gulch/period-2-rev-2.toml?paper=strips",
	"print":        "/print/thimble-gulch/plan.toml",
	"print-book":   "/print/thimble-gulch/load.toml",
	"compare":      "/compare/thimble-gulch/period-3.toml",
	"prove":        "/prove/thimble-gulch/plan.toml",
	"checkin":      "/checkin/thimble-gulch/plan.toml",
	"book":         "/book/thimble-gulch/load.toml",
	"load":         "/load/thimble-gulch/load.toml",
	"load-edit":    "/load/thimble-gulch/load.toml?edit=4",
	"load-add":     "/load/thimble-gulch/load.toml?in=3&add=2",
	"sites":        "/details/thimble-gulch/load.toml?table=site&edit=1",
	"groups":       "/details/thimble-gulch/load.toml?table=group",
	"settings":     "/details/thimble-gulch/plan.toml?table=card",
	"exceptions":   "/details/thimble-gulch/plan.toml?table=accept&add=1",
	"import":       "/import/",
	"since":        "/since/thimble-gulch/load.toml",
	"load-find":    "/load/thimble-gulch/load.toml?q=vtac",
	"load-tone":    "/load/thimble-gulch/load.toml?by=tone&in=4",
	"newfire":      "/newfire/",
	"incident":     "/incident/thimble-gulch/plan.toml",
	"list":         "/list/thimble-gulch/plan.toml?q=tac",
	"site":         "/list/thimble-gulch/plan.toml?ref=1-01",
	"divisions":    "/divisions/thimble-gulch/plan.toml",
	"roster":       "/roster/thimble-gulch/plan.toml",
	"listen":       "/listen/thimble-gulch/plan.toml",
	"history":      "/history/thimble-gulch/plan.toml",
	"broken-cards": "/cards/thimble-gulch/broken.toml",
}

// shotsEnv names a folder to put pictures of the screens into, to look at; onlyEnv the
// screens that are wanted, where not all.
const (
	shotsEnv = "SLOTCARD_TEST_SHOTS"
	onlyEnv  = "SLOTCARD_TEST_SCREENS"
)

// axe-core (Deque Systems, MPL-2.0) is the judge of what a reader for the blind, or a
// person without a mouse, meets: the rules of WCAG 2.0 to 2.2, A and AA, that a program
// can check, and its best practices.
func TestDeskScreens(t *testing.T) {
	home, err := filepath.Abs(".") // of this test, which the desk leaves
	require.NoError(t, err)
	b := browse(t)
	axe, err := os.ReadFile(filepath.Join(home, "testdata", "axe", "axe.min.js"))
	require.NoError(t, err)
	text, err := os.ReadFile(filepath.Join(b.dir, "thimble-gulch", "plan.toml"))
	require.NoError(t, err)
	broken := strings.Replace(string(text), "QB TAC 3", "QB TAX 3", 1)
	require.NoError(t, os.WriteFile(filepath.Join(b.dir, "thimble-gulch", "broken.toml"), []byte(broken), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(b.dir, "thimble-gulch", "load-2026.toml"), lastYear(t, b.dir), 0o644))
	list, err := os.ReadFile(filepath.Join(home, "..", "..", "testdata", "lists", "hobnail.csv"))
	require.NoError(t, err)
	b.to("/import/")
	columns := is[string](b, fmt.Sprintf(`(() => { const f = new FormData(); f.set("do", "read"); f.set("text", %q); return fetch("/import/", {method: "POST", body: f}).then(r => r.url) })()`, list))
	sheet, err := os.ReadFile(filepath.Join(home, "..", "..", "testdata", "sheets", "twelve-rows.csv"))
	require.NoError(t, err)
	drafted := is[string](b, fmt.Sprintf(`(() => { const f = new FormData(); f.set("do", "make"); f.set("load", "thimble-gulch/load.toml"); f.set("text", %q); return fetch("/draft/", {method: "POST", body: f}).then(r => r.url) })()`, sheet))
	screens := maps.Clone(screens)
	screens["draft-beside"] = strings.TrimPrefix(drafted, b.origin)
	screens["import-columns"] = strings.TrimPrefix(columns, b.origin) + "&map=Svc%3D-"
	judge := func(t *testing.T, rules string) {
		t.Helper()
		assert.Empty(t, is[[]string](b, `axe.run(document, {resultTypes: ["violations"]`+rules+`}).then(r => r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.html.slice(0, 200)).join(" | ")))`))
	}
	shot := func(t *testing.T, name string) {
		if dir := os.Getenv(shotsEnv); dir != "" {
			png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+".png"), png, fs.FileMode(0o644)))
		}
	}
	b.to("/folder/")
	b.light("light")
	for name, path := range screens {
		if only := os.Getenv(onlyEnv); only != "" && !slices.Contains(strings.Fields(only), name) {
			continue
		}
		t.Run(name, func(t *testing.T) {
			b.t = t
			b.do(chromedp.EmulateViewport(1440, 900))
			b.to(path)
			is[bool](b, string(axe)+";true")
			for _, width := range []int64{1440, 390, 360, 3840} { // the narrowest phone, the widest screen
				b.do(chromedp.EmulateViewport(width, 900))
				b.soon(fmt.Sprintf("innerWidth === %d", width))
				assert.LessOrEqual(t, is[float64](b, "document.documentElement.scrollWidth"), float64(width), "the page is no wider than the screen of %d", width)
				if width == 1440 || width == 390 {
					judge(t, "")
					shot(t, fmt.Sprintf("%s-light-%d", name, width))
				}
			}
			// The lights differ in colors alone: the switch sets one attribute.
			b.do(chromedp.EmulateViewport(1440, 900))
			for _, theme := range []string{"dark", "red"} {
				is[bool](b, fmt.Sprintf(`document.documentElement.dataset.theme = %q, true`, theme))
				judge(t, `, runOnly: ["color-contrast"]`)
				shot(t, name+"-"+theme+"-1440")
			}
		})
	}
	b.t = t
	for _, theme := range []string{"dark", "red"} {
		b.to("/folder/")
		b.light(theme)
	}
	assert.Empty(t, b.elsewhere(), "no request leaves the machine")
}

// The file on the disk is the truth: what an editor saves is on the page at once, what
// is broken is seen, mended and printed by keys alone.
func TestDeskByKeyboard(t *testing.T) {
	b := browse(t)
	file := filepath.Join(b.dir, "thimble-gulch", "plan.toml")
	good, err := os.ReadFile(file)
	require.NoError(t, err)
	b.to("/folder/")
	// Tab by tab to the plan, as a person without a mouse gets there.
	tabTo := func(expression string) {
		t.Helper()
		for range 60 {
			if is[bool](b, expression) {
				return
			}
			b.press(kb.Tab)
		}
		t.Fatalf("no tab leads to %s", expression)
	}
	tabTo(`document.activeElement.matches('a.row[href="/cards/thimble-gulch/plan.toml"]')`)
	b.press(kb.Enter)
	b.soon(`location.pathname === "/cards/thimble-gulch/plan.toml" && document.querySelectorAll(".paper").length === 2`)
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)
	b.press(kb.ArrowRight)
	b.soon(`document.querySelector(".step b").textContent.startsWith("Card 2")`)
	b.press("f")
	b.soon(`document.querySelectorAll(".paper").length === 1`)
	b.press("f")
	b.soon(`document.querySelector(".look figcaption").textContent === "Back"`)
	b.press("b")
	b.soon(`document.querySelectorAll(".paper").length === 2`)
	b.press("3")
	b.soon(`document.querySelector(".as-red") !== null`)
	b.press("1")
	b.soon(`document.querySelector(".as-red") === null`)
	// Whoever speaks to the computer switches single keys off.
	b.do(chromedp.Click(`button[name="keys"]`), chromedp.WaitVisible(`[data-keys="off"] main`))
	b.press("3")
	b.do(chromedp.Sleep(100 * time.Millisecond))
	require.True(t, is[bool](b, `document.querySelector(".as-red") === null`))
	b.do(chromedp.Click(`button[name="keys"]`), chromedp.WaitVisible(`#page:not([data-keys]) main`))
	b.soon(`document.getElementById("live").textContent === "up to date with the file"`)

	// An editor saves a change: by writing a file beside it and renaming that.
	save := func(text string) {
		t.Helper()
		require.NoError(t, os.WriteFile(file+"~", []byte(text), 0o644))
		require.NoError(t, os.Rename(file+"~", file))
	}
	start := time.Now()
	save(strings.ReplaceAll(string(good), "Left flank, lower", "Left flank, seen"))
	b.soon(`document.querySelector(".paper").textContent.includes("Left flank, seen")`)
	t.Logf("from the save to the new card: %v", time.Since(start).Round(time.Millisecond))
	start = time.Now()
	save(strings.Replace(string(good), "\naircraft ", "\nairkraft ", 1))
	b.soon(`document.querySelector(".stale") !== null && document.querySelector(".say.error a") !== null`)
	t.Logf("from the save to the finding: %v", time.Since(start).Round(time.Millisecond))
	tabTo(`document.activeElement.matches('.say.error a')`)
	b.press(kb.Enter)
	b.soon(`document.querySelector(".lines mark") !== null && document.querySelector(".lines mark").textContent.includes("airkraft")`)
	b.press("a")
	b.soon(`document.querySelector(".lines") === null || !document.querySelector(".lines").textContent.includes("airkraft")`)
	now, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(good), string(now))

	tabTo(`document.activeElement.matches('nav.views a[href^="/print/"]')`)
	b.press(kb.Enter)
	b.soon(`document.querySelector(".counts .row") !== null`)
	b.press("p")
	b.soon(`document.querySelectorAll('a[target="_blank"]').length === 3`)
	want := t.TempDir()
	require.Equal(t, exitFine, run([]string{"print", file, "-o", want}, nil, io.Discard, io.Discard))
	for i, name := range []string{"cards.pdf", "wall.pdf", "handout.pdf"} {
		sum := is[string](b, fmt.Sprintf(`fetch(document.querySelectorAll('a[target="_blank"]')[%d].href).then(r => r.arrayBuffer()).then(b => crypto.subtle.digest("SHA-256", b)).then(d => Array.from(new Uint8Array(d), x => x.toString(16).padStart(2, "0")).join(""))`, i))
		expected, err := os.ReadFile(filepath.Join(want, name))
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprintf("%x", sha256.Sum256(expected)), sum, name)
	}

	// The check-in table: a keyboard scanner types a list line by line.
	tabTo(`document.activeElement.matches('nav.views a[href^="/checkin/"]')`)
	b.press(kb.Enter)
	b.soon(`document.querySelector("#scan") !== null`)
	tabTo(`document.activeElement.id === "scan"`)
	b.press("2" + kb.Enter)
	b.soon(`document.querySelector(".answer").textContent.includes("Engine 611") && document.getElementById("scan").value === ""`)
	for line := range strings.SplitSeq(deskList(t, file), "\n") {
		b.press(line + kb.Enter)
	}
	b.soon(`document.querySelectorAll("tr.r-same").length === 1 && document.getElementById("scan").value === ""`)

	// A photograph that is chosen is sent by itself.
	require.Equal(t, exitFine, run([]string{"print", file, "--png", "--only", "Engine 611"}, nil, io.Discard, io.Discard))
	pictures, err := filepath.Glob(filepath.Join(b.dir, "thimble-gulch", "out", "*back*.png"))
	require.NoError(t, err)
	require.NotEmpty(t, pictures)
	b.to("/prove/thimble-gulch/plan.toml")
	b.do(chromedp.SetUploadFiles("#file", pictures[:1]))
	b.soon(`document.querySelector(".proof.fine") !== null`)
	assert.Contains(t, is[string](b, `document.querySelector(".proof").textContent`), "The same list as the plan’s")
	assert.Empty(t, b.elsewhere())
}
