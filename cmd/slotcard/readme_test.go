package main

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/slotlist"
)

// What README.md and DEVELOPERS.md show is run here, so that it stays true.
// Pictures and the outputs in README.md are written anew with
//
//	go test ./cmd/slotcard -run Readme -update

var update = flag.Bool("update", false, "write samples and pictures of README.md anew")

const repository = "../.."

// swapped is the fault of README.md's sample finding, in a copy of a plan.
var swapped = struct{ from, to, old, new string }{
	"examples/first-hour/plan.toml", "examples/first-hour/swapped.toml",
	`channel  = "VFIRE23"`, `rx       = 154.259`,
}

func readText(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(repository, name))
	require.NoError(t, err)
	return string(data)
}

// inCopy changes into a folder that holds a copy of the examples and the plan
// of the sample finding.
func inCopy(t *testing.T) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "examples"), os.DirFS(filepath.Join(repository, "examples"))))
	// Whoever has printed an example by the first command of README has this beside it.
	printed, err := filepath.Glob(filepath.Join(dir, "examples", "*", "*.cards.csv"))
	require.NoError(t, err)
	for _, name := range printed {
		require.NoError(t, os.Remove(name))
	}
	require.NoError(t, os.CopyFS(filepath.Join(dir, "testdata", "lists"), os.DirFS(filepath.Join(repository, "testdata", "lists"))))
	t.Chdir(dir)
	good, err := os.ReadFile(swapped.from)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(good), swapped.old), "the sample's line stands once in the plan")
	require.NoError(t, os.WriteFile(swapped.to, []byte(strings.Replace(string(good), swapped.old, swapped.new, 1)), 0o600))
}

// slotcard runs the program and returns what a person sees, and its status.
func slotcard(args ...string) (said string, status int) {
	var stdout, stderr bytes.Buffer
	status = run(args, strings.NewReader(""), &stdout, &stderr)
	return stdout.String() + stderr.String(), status
}

var (
	consoleBlock = regexp.MustCompile("(?s)```console\n(.*?)```\n")
	consoleStep  = regexp.MustCompile(`(?m)^\$ slotcard (.*)\n((?:[^$].*\n|\n)*)`)
)

// TestReadmeCommands runs each command of a console block and compares all that
// it says.
func TestReadmeCommands(t *testing.T) {
	name, err := filepath.Abs(filepath.Join(repository, "README.md"))
	require.NoError(t, err)
	readme := readText(t, "README.md")
	inCopy(t)
	steps := 0
	renewed := consoleBlock.ReplaceAllStringFunc(readme, func(block string) string {
		body := consoleBlock.FindStringSubmatch(block)[1]
		covered := 0
		body = consoleStep.ReplaceAllStringFunc(body, func(step string) string {
			steps++
			covered += len(step)
			m := consoleStep.FindStringSubmatch(step)
			said, status := slotcard(strings.Fields(m[1])...)
			want := exitFine
			if strings.Contains(m[1], swapped.to) || strings.HasPrefix(m[1], "diff ") || strings.HasPrefix(m[1], "code XS JX") ||
				strings.HasPrefix(m[1], "verify") && strings.Contains(m[1], "period-3") {
				want = exitFindings
			}
			assert.Equal(t, want, status, m[1])
			if !*update {
				assert.Equal(t, m[2], said, m[1])
			}
			return fmt.Sprintf("$ slotcard %s\n%s", m[1], said)
		})
		assert.Equal(t, len(consoleBlock.FindStringSubmatch(block)[1]), covered, "all lines of the block belong to a command")
		return "```console\n" + body + "```\n"
	})
	assert.GreaterOrEqual(t, steps, 4, "commands in README.md")
	if *update {
		require.NoError(t, os.WriteFile(name, []byte(renewed), 0o644))
	}
}

// TestReadmePictures compares the pictures with what print --png draws today,
// dot by dot: the bytes of a PNG may change with the Go release.
func TestReadmePictures(t *testing.T) {
	pictures, err := filepath.Abs(filepath.Join(repository, "examples/pictures"))
	require.NoError(t, err)
	inCopy(t)
	said, status := slotcard("print", "examples/thimble-gulch/plan.toml", "--png", "-o", "out")
	require.Equal(t, exitFine, status, said)
	for name, fresh := range map[string]string{
		"card-front.png": "out/cards-02-*-front.png",
		"card-back.png":  "out/cards-back-*.png",
		"wall.png":       "out/wall-1.png",
	} {
		found, err := filepath.Glob(fresh)
		require.NoError(t, err)
		require.Len(t, found, 1, fresh)
		drawn := pictureIn(t, found[0])
		kept := filepath.Join(pictures, name)
		if *update {
			var small bytes.Buffer
			require.NoError(t, (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&small, fewColors(drawn)))
			require.NoError(t, os.WriteFile(kept, small.Bytes(), 0o644))
		}
		assert.True(t, sameDots(pictureIn(t, kept), drawn),
			"%s is no longer what print --png draws: look at it, then run this test with -update", name)
		info, err := os.Stat(kept)
		require.NoError(t, err)
		assert.Less(t, info.Size(), int64(170_000), "%s is larger than a page on the web should load", name)
	}
}

func pictureIn(t *testing.T, name string) image.Image {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	m, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err, name)
	return m
}

// fewColors is a picture with a palette, which makes a smaller file, where its colors
// are few enough for one; else it is m.
func fewColors(m image.Image) image.Image {
	r := m.Bounds()
	small := image.NewPaletted(r, nil)
	places := map[color.Color]uint8{}
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c := color.RGBAModel.Convert(m.At(x, y))
			place, known := places[c]
			if !known {
				if len(places) == 256 {
					return m
				}
				place = uint8(len(places))
				places[c] = place
				small.Palette = append(small.Palette, c)
			}
			small.SetColorIndex(x, y, place)
		}
	}
	return small
}

func sameDots(p, q image.Image) bool {
	if p.Bounds() != q.Bounds() {
		return false
	}
	return bytes.Equal(dots(p), dots(q))
}

func dots(m image.Image) []byte {
	r := m.Bounds()
	out := make([]byte, 0, 3*r.Dx()*r.Dy())
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			r, g, b, _ := m.At(x, y).RGBA()
			out = append(out, byte(r>>8), byte(g>>8), byte(b>>8))
		}
	}
	return out
}

// TestReadmeListText reads the list text that README.md shows to those who
// write a reader. Its code is the test vector of the format.
func TestReadmeListText(t *testing.T) {
	m := regexp.MustCompile("(?s)```\n(SLOTS 1 .*?)```\n").FindStringSubmatch(readText(t, "README.md"))
	require.NotNil(t, m)
	l, code, err := slotlist.Parse(m[1])
	require.NoError(t, err)
	assert.Len(t, l.Lines, 5)
	assert.Equal(t, slotlist.Code("J2MX"), code)
}

// TestReadmeLinks follows the links and pictures of both documents.
func TestReadmeLinks(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#]+)\)|src="([^"]+)"`)
	for _, doc := range []string{"README.md", "DEVELOPERS.md"} {
		for _, m := range link.FindAllStringSubmatch(readText(t, doc), -1) {
			assert.FileExists(t, filepath.Join(repository, m[1]+m[2]), doc)
		}
	}
}

// TestReadmeNamesCommands wants every command in README.md.
func TestReadmeNamesCommands(t *testing.T) {
	readme := readText(t, "README.md")
	var out bytes.Buffer
	names := commandNames((&app{voice: voice.New(&out, &out)}).root())
	assert.Contains(t, names, "print")
	for _, n := range names {
		if n != "help" {
			assert.True(t, strings.Contains(readme, "slotcard "+n), "README.md does not name slotcard %s", n)
		}
	}
}

// TestReadmeKeys wants every key of both files in README.md, and in the files
// that new writes.
func TestReadmeKeys(t *testing.T) {
	readme := readText(t, "README.md")
	for _, f := range []struct {
		kind    reflect.Type
		starter string
	}{
		{reflect.TypeFor[plan.Load](), string(starterLoad)},
		{reflect.TypeFor[plan.Plan](), string(starterPlan) + string(starterStation)},
	} {
		keys := map[string]bool{}
		keysOf(f.kind, keys)
		assert.Greater(t, len(keys), 15)
		for k := range keys {
			named, err := regexp.MatchString("[`.\\[]"+k+"[`\\]]", readme)
			require.NoError(t, err)
			assert.True(t, named, "README.md does not name %s", k)
			taught, err := regexp.MatchString(`\b`+k+`(\s*=|\])`, f.starter)
			require.NoError(t, err)
			assert.True(t, taught, "slotcard new does not teach %s", k)
		}
	}
}

// keysOf collects the keys of a table and of the tables in it.
func keysOf(t reflect.Type, keys map[string]bool) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || t.PkgPath() != reflect.TypeFor[plan.Plan]().PkgPath() {
		return
	}
	for _, f := range reflect.VisibleFields(t) {
		key, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
		if key == "" || key == "-" {
			continue
		}
		keys[key] = true
		if len(f.Index) == 1 {
			keysOf(f.Type, keys)
		}
	}
}

// TestDevelopersMap wants every folder that holds Go files on the map.
func TestDevelopersMap(t *testing.T) {
	doc := readText(t, "DEVELOPERS.md")
	seen := 0
	require.NoError(t, filepath.WalkDir(repository, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		if n := d.Name(); n == "testdata" || strings.HasPrefix(n, ".") && n != ".." {
			return fs.SkipDir
		}
		sources, err := filepath.Glob(filepath.Join(path, "*.go"))
		if len(sources) > 0 {
			rel, _ := filepath.Rel(repository, path)
			seen++
			assert.True(t, strings.Contains(doc, "\n### "+filepath.ToSlash(rel)+"\n"), "DEVELOPERS.md says nothing of %s", rel)
		}
		return err
	}))
	assert.Greater(t, seen, 8)
}

// TestExamplesAreClean wants no finding of any severity in anything that a
// reader may copy.
func TestExamplesAreClean(t *testing.T) {
	inCopy(t)
	require.NoError(t, os.Remove(swapped.to))
	said, status := slotcard("new", "fire")
	require.Equal(t, exitFine, status, said)
	said, status = slotcard("check", "--long", "fire", "examples/thimble-gulch", "examples/first-hour")
	assert.Equal(t, exitFine, status)
	assert.Equal(t, "8 files checked: nothing to report\n", said)
	for _, p := range []string{"fire/plan.toml", "examples/thimble-gulch/plan.toml", "examples/thimble-gulch/period-3.toml", "examples/first-hour/plan.toml"} {
		said, status := slotcard("print", p, "-o", filepath.Join("printed", filepath.Base(filepath.Dir(p)), filepath.Base(p)))
		assert.Equal(t, exitFine, status, said)
		assert.NotRegexp(t, `\[[a-z-]+\]`, said, "findings")
	}
}
