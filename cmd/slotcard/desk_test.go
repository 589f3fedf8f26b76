package main

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
)

// visitor is a browser as far as HTTP goes.
type visitor struct {
	t      *testing.T
	origin string
	client *http.Client
}

func visit(t *testing.T) (string, *visitor) {
	dir, entrance := openDesk(t, withExamples)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	v := &visitor{t, entranceSaid.FindStringSubmatch(entrance)[1], &http.Client{Jar: jar, Timeout: 2 * patience}}
	v.get(strings.TrimPrefix(entrance, v.origin))
	return dir, v
}

func (v *visitor) read(r *http.Response, err error) string {
	v.t.Helper()
	require.NoError(v.t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(v.t, err)
	require.Equal(v.t, http.StatusOK, r.StatusCode, string(data))
	return string(data)
}

func (v *visitor) get(path string) string {
	v.t.Helper()
	return v.read(v.client.Get(v.origin + path))
}

func (v *visitor) post(path string, form url.Values) string {
	v.t.Helper()
	return v.read(v.client.PostForm(v.origin+path, form))
}

// value is that of a hidden field of a page.
func value(t *testing.T, page, name string) string {
	t.Helper()
	m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(page)
	require.NotNil(t, m, "no field %s", name)
	return m[1]
}

// The desk does what the command line does: a file is broken, its finding is seen and
// mended by the edit offered, and the papers that the page makes are those of
// slotcard print, byte by byte.
func TestDeskJob(t *testing.T) {
	dir, v := visit(t)
	const plan = "thimble-gulch/plan.toml"
	file := filepath.Join(dir, filepath.FromSlash(plan))
	good, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, v.get("/cards/"+plan), "VFIRE21")

	bad := strings.Replace(string(good), "\naircraft ", "\nairkraft ", 1)
	require.NoError(t, os.WriteFile(file, []byte(bad), 0o644))
	assert.Contains(t, v.get("/cards/"+plan), "The file has errors: what you see is from")
	refused, err := v.client.PostForm(v.origin+"/print/"+plan, url.Values{"do": {"save"}})
	require.NoError(t, err)
	refused.Body.Close()
	assert.Equal(t, http.StatusUnprocessableEntity, refused.StatusCode)
	assert.NoDirExists(t, filepath.Join(dir, "thimble-gulch", "out"))
	page := v.get("/findings/" + plan)
	assert.Contains(t, page, "airkraft")
	page = v.post("/findings/"+plan, url.Values{"do": {"apply"}, "key": {value(t, page, "key")}, "n": {value(t, page, "n")}, "edit": {value(t, page, "edit")}})
	assert.NotContains(t, page, "airkraft")
	now, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(good), string(now), "the edit leaves every other byte alone")

	want := t.TempDir()
	require.Equal(t, exitFine, run([]string{"print", file, "-o", want}, nil, io.Discard, io.Discard))
	page = v.post("/print/"+plan, url.Values{"do": {"open"}})
	links := regexp.MustCompile(`href="(/print/[^"]*part=file[^"]*)"`).FindAllStringSubmatch(page, -1)
	require.Len(t, links, 3)
	for i, name := range []string{"cards.pdf", "wall.pdf", "handout.pdf"} {
		pdf := v.get(strings.ReplaceAll(links[i][1], "&amp;", "&"))
		expected, err := os.ReadFile(filepath.Join(want, name))
		require.NoError(t, err)
		assert.True(t, string(expected) == pdf, "%s is the same", name)
	}
	page = v.post("/print/"+plan, url.Values{"do": {"save"}, "wall": {"grid"}})
	assert.Contains(t, page, "thimble-gulch/out/wall.pdf")
	require.Equal(t, exitFine, run([]string{"print", file, "-o", want, "--wall=grid"}, nil, io.Discard, io.Discard))
	expected, err := os.ReadFile(filepath.Join(want, "wall.pdf"))
	require.NoError(t, err)
	saved, err := os.ReadFile(filepath.Join(dir, "thimble-gulch", "out", "wall.pdf"))
	require.NoError(t, err)
	assert.True(t, string(expected) == string(saved))

	assert.NotContains(t, v.get("/print/"+plan), "mixture")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "thimble-gulch", "out", "wall.pdf"), saved[1:], 0o644))
	assert.Contains(t, v.get("/print/"+plan), "thimble-gulch/out is a mixture: wall.pdf not as printed there")
}

// The dialog asks for a label printer, for a table of words, and for one form of a sheet,
// as the flags do; a table that is corrected is read again.
func TestDeskPrintsOnRollsInOwnWords(t *testing.T) {
	dir, v := visit(t)
	const plan = "thimble-gulch/plan.toml"
	table := filepath.Join(dir, "thimble-gulch", "es.csv")
	var words bytes.Buffer
	require.Equal(t, exitFine, run([]string{"words", "--language", "es"}, nil, &words, io.Discard))
	require.NoError(t, os.WriteFile(table, words.Bytes(), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "thimble-gulch", "numbers.csv"), []byte("card,unit\n"), 0o666))

	asked := url.Values{"cards": {"true"}, "roll": {"4x6in"}, "dpi": {"203"}, "words": {"thimble-gulch/es.csv"}, "language": {"fr"}}
	page := v.get("/print/" + plan + "?" + asked.Encode())
	assert.Contains(t, page, "labels of 101.6 x 152.4 mm")
	assert.Contains(t, page, `<option selected>thimble-gulch/es.csv</option>`)
	assert.NotContains(t, page, "numbers.csv", "no table of words")
	assert.Regexp(t, `(?s)<select name="wall">.*Wall grid.*clipboard.*</select>`, page, "one form of a sheet")

	asked.Set("do", "save")
	v.post("/print/"+plan, asked)
	saved, err := os.ReadFile(filepath.Join(dir, "thimble-gulch", "out", "cards.pdf"))
	require.NoError(t, err)
	want := t.TempDir()
	require.Equal(t, exitFine, run([]string{"print", filepath.Join(dir, filepath.FromSlash(plan)), "-o", want, "--cards", "--roll", "4x6in", "--dpi", "203", "--words", table}, nil, io.Discard, io.Discard))
	expected, err := os.ReadFile(filepath.Join(want, "cards.pdf"))
	require.NoError(t, err)
	assert.True(t, string(expected) == string(saved), "the same as by flags")

	require.NoError(t, os.WriteFile(table, []byte("key,es\nCardWords.TurnTo,vaya\n"), 0o666))
	page = v.get("/print/" + plan + "?" + url.Values{"cards": {"true"}, "words": {"thimble-gulch/es.csv"}}.Encode())
	assert.NotContains(t, page, "name=\"do\" value=\"open\"", "the table is wrong now")
}

// A code, a list, a photograph of a card and the check-in are answered as verify and
// code answer them.
func TestDeskProves(t *testing.T) {
	dir, v := visit(t)
	const plan = "thimble-gulch/plan.toml"
	file := filepath.Join(dir, filepath.FromSlash(plan))
	assert.Contains(t, v.post("/prove/"+plan, url.Values{"do": {"code"}, "code": {"xs jt"}}), "XS JT is this plan’s code")
	page := v.post("/prove/"+plan, url.Values{"do": {"code"}, "code": {"XSJV"}})
	assert.Contains(t, page, "is not a code of this plan")

	require.Equal(t, exitFine, run([]string{"print", file, "--png", "--only", "Engine 611"}, nil, io.Discard, io.Discard))
	pictures, err := filepath.Glob(filepath.Join(dir, "thimble-gulch", "out", "*-back-*.png"))
	require.NoError(t, err)
	require.NotEmpty(t, pictures)
	photo, err := os.ReadFile(pictures[0])
	require.NoError(t, err)
	page = v.upload("/prove/"+plan, photo)
	assert.Contains(t, page, "The same list as the plan’s")
	page = v.upload("/prove/thimble-gulch/period-2-rev-2.toml", photo)
	assert.Contains(t, page, "Not the plan’s list")
	assert.Contains(t, page, `data-hit=""`, "what differs is outlined on the card")
	page = v.upload("/prove/"+plan, []byte("\x89PNG\r\n\x1a\nnot really"))
	assert.Contains(t, page, "Not proven")

	var listing lines
	run([]string{"verify", file, pictures[0], "--json"}, nil, &listing, io.Discard)
	text := deskList(t, file)
	page = v.post("/checkin/"+plan, url.Values{"do": {"scan"}, "text": {"card 2"}})
	assert.Contains(t, page, "<b>0</b> of 60 seen")
	// The page waits for the table to be silent, which a slow machine is between two answers.
	page = v.post("/checkin/"+plan, url.Values{"do": {"scan"}, "text": {text}})
	for until := time.Now().Add(patience); !strings.Contains(page, "<b>1</b> of 60 seen") && time.Now().Before(until); {
		page = v.get("/checkin/" + plan)
	}
	assert.Contains(t, page, "<b>1</b> of 60 seen")
	assert.Contains(t, page, `class="r-same"`)
	page = v.post("/checkin/"+plan, url.Values{"do": {"done"}})
	assert.Contains(t, page, "1 of 60 cards seen")
	// The same journal is taken up by the command line, and by the desk again.
	var stdout, stderr lines
	run([]string{"verify", file, "--watch", "--journal", filepath.Join(dir, "thimble-gulch", "plan.checkin.jsonl")}, strings.NewReader("card 3\n"+text+"\n"), &stdout, &stderr)
	assert.Contains(t, stdout.String(), "2 of 60 cards seen", stderr.String())
	assert.Contains(t, v.get("/checkin/"+plan), "<b>2</b> of 60 seen")
}

// deskList is the text of the plan's list, as its code holds it.
func deskList(t *testing.T, file string) string {
	t.Helper()
	a := &app{voice: voice.New(io.Discard, io.Discard), reader: files.NewReader(t.Context(), nil)}
	r, _, err := a.open(file)
	require.NoError(t, err)
	return strings.TrimSpace(r.Lists[0].Text)
}

func (v *visitor) upload(path string, data []byte) string {
	v.t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	require.NoError(v.t, form.WriteField("do", "list"))
	w, err := form.CreateFormFile("file", "photo.png")
	require.NoError(v.t, err)
	_, err = w.Write(data)
	require.NoError(v.t, err)
	require.NoError(v.t, form.Close())
	return v.read(v.client.Post(v.origin+path, form.FormDataContentType(), &b))
}

// What a page is asked for that would leave its folder is refused, and what a form
// says is never an argument of its own.
func TestDeskStaysInItsFolder(t *testing.T) {
	dir, v := visit(t)
	outer := t.TempDir()
	if err := os.Symlink(outer, filepath.Join(dir, "thimble-gulch", "out")); err != nil {
		t.Skip(err)
	}
	for _, form := range []url.Values{
		{"do": {"save"}}, {"do": {"save"}, "out": {outer}, "force": {"true"}},
		{"do": {"save"}, "paper": {"letter --out=" + outer}},
	} {
		r, err := v.client.PostForm(v.origin+"/print/thimble-gulch/plan.toml", form)
		require.NoError(t, err)
		r.Body.Close()
		assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode, form)
	}
	assert.Empty(t, ls(t, outer))
	require.NoError(t, os.Remove(filepath.Join(dir, "thimble-gulch", "out")))
	page := v.post("/prove/thimble-gulch/plan.toml", url.Values{"do": {"code"}, "code": {"XSJT"}})
	assert.Contains(t, page, "this plan’s code")
	r, err := v.client.PostForm(v.origin+"/prove/thimble-gulch/plan.toml", url.Values{"do": {"code"}, "code": {"--help"}})
	require.NoError(t, err)
	r.Body.Close()
	assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode)
}

// Whoever starts the program without a terminal, a pipe or a file to say it in has
// double-clicked it.
func TestDoubleClick(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	require.NoError(t, err)
	defer null.Close()
	read, write, err := os.Pipe()
	require.NoError(t, err)
	defer read.Close()
	defer write.Close()
	assert.True(t, doubleClicked(null, null, null))
	assert.False(t, doubleClicked(null, write, null))
	assert.False(t, doubleClicked(read, null, null))
	assert.False(t, doubleClicked(strings.NewReader(""), null, null))
}

// What follows a plan, and what is typed into its file, is what the command line makes
// of the same data.
func TestDeskFollows(t *testing.T) {
	dir, v := visit(t)
	const plan = "thimble-gulch/plan.toml"
	file := filepath.Join(dir, filepath.FromSlash(plan))
	same := func(name string, args ...string) {
		t.Helper()
		want := filepath.Join(filepath.Dir(file), "by-hand.toml")
		require.Equal(t, exitFine, run(append(args, "-o", want), nil, io.Discard, io.Discard))
		expected, err := os.ReadFile(want)
		require.NoError(t, err)
		require.NoError(t, os.Remove(want))
		got, err := os.ReadFile(filepath.Join(filepath.Dir(file), name))
		require.NoError(t, err)
		assert.Equal(t, string(expected), string(got))
	}
	assert.Contains(t, v.get("/revise/"+plan), "revision 2 of period 2")
	page := v.post("/revise/"+plan, url.Values{"do": {"make"}, "at": {"13:05"}, "name": {"changed"}})
	assert.Contains(t, page, "Nothing that anybody carries has changed yet", "the new file is open")
	same("changed.toml", "revise", file, "--at", "13:05")
	assert.Contains(t, v.get("/revise/thimble-gulch/changed.toml"), "since plan.toml")

	assert.Contains(t, v.get("/next/"+plan), "Make period 3")
	v.post("/next/"+plan, url.Values{"do": {"make"}, "name": {"tomorrow.toml"}})
	same("tomorrow.toml", "next", file)

	for _, form := range []url.Values{
		{"do": {"make"}, "name": {"tomorrow"}}, {"do": {"make"}, "name": {"../x"}}, {"do": {"make"}, "name": {""}}, {"do": {"make"}, "name": {"-o"}},
	} {
		refused, err := v.client.PostForm(v.origin+"/next/"+plan, form)
		require.NoError(t, err)
		refused.Body.Close()
		assert.Equal(t, http.StatusUnprocessableEntity, refused.StatusCode, "%v", form)
	}
	assert.NoFileExists(t, filepath.Join(dir, "x.toml"))

	before, err := os.ReadFile(file)
	require.NoError(t, err)
	page = v.get("/file/" + plan)
	typed := strings.Replace(string(before), "VFIRE21", "VFIRE23", 1)
	form := url.Values{"do": {"save"}, "key": {value(t, page, "key")}, "text": {strings.ReplaceAll(typed, "\n", "\r\n")}}
	v.post("/file/"+plan, form)
	now, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, typed, string(now), "line ends stay as they are")
	late, err := v.client.PostForm(v.origin+"/file/"+plan, form)
	require.NoError(t, err)
	shown, err := io.ReadAll(late.Body)
	require.NoError(t, err)
	late.Body.Close()
	assert.Equal(t, http.StatusUnprocessableEntity, late.StatusCode)
	assert.Contains(t, string(shown), "VFIRE23", "what was typed is still there")
}

// The exercise to try is the one that new makes; a sheet is drafted as draft does it.
func TestDeskBegins(t *testing.T) {
	dir, v := visit(t)
	page := v.post("/new/", url.Values{"do": {"make"}, "name": {"ridge"}})
	assert.Contains(t, page, "ridge/plan.toml")
	assert.Contains(t, page, "EXERCISE")
	want := t.TempDir()
	t.Chdir(dir)
	require.Equal(t, exitFine, run([]string{"new", "ridge-2"}, nil, io.Discard, io.Discard))
	expected, err := os.ReadFile(filepath.Join("ridge-2", "plan.toml"))
	require.NoError(t, err)
	got, err := os.ReadFile(filepath.Join("ridge", "plan.toml"))
	require.NoError(t, err)
	assert.Equal(t, string(expected), string(got))

	require.Equal(t, exitFine, run([]string{"print", filepath.Join("thimble-gulch", "plan.toml"), "--wall", "--csv", "-o", want}, nil, io.Discard, io.Discard))
	sheet, err := os.ReadFile(filepath.Join(want, "wall.csv"))
	require.NoError(t, err)
	page = v.post("/draft/", url.Values{"do": {"make"}, "load": {"thimble-gulch/load.toml"}, "name": {"from-sheet"}, "text": {string(sheet)}, "exercise": {"true"}})
	assert.Contains(t, page, "written to thimble-gulch/from-sheet.toml")
	byHand := filepath.Join("thimble-gulch", "by-hand.toml")
	csv := filepath.Join(want, "wall.csv")
	require.Equal(t, exitFine, run([]string{"draft", filepath.Join("thimble-gulch", "load.toml"), csv, "-o", byHand, "--exercise"}, nil, io.Discard, io.Discard))
	expected, err = os.ReadFile(byHand)
	require.NoError(t, err)
	got, err = os.ReadFile(filepath.Join("thimble-gulch", "from-sheet.toml"))
	require.NoError(t, err)
	from := func(text []byte) string { _, rest, _ := strings.Cut(string(text), "\n"); return rest }
	assert.Equal(t, from(expected), from(got), "but for the line that names the sheet")
}

// A name that is nothing is answered with what to name.
func TestDeskOfNothing(t *testing.T) {
	t.Chdir(t.TempDir())
	var said bytes.Buffer
	assert.Equal(t, exitUsage, run([]string{"desk", "nowhere", "--no-browser"}, nil, io.Discard, &said))
	assert.Contains(t, said.String(), "nowhere: no such file or folder; name a plan, a load or the folder they are in")
}
