package publish

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func origin(revision int) *Origin {
	return &Origin{State: fmt.Sprint("state ", revision), Incident: "Thimble Gulch", Period: 2, Revision: revision}
}

// printed are the files of a print, each of which says whose it is.
func printed(of string) []File {
	var out []File
	for _, name := range []string{"cards.pdf", "handout.pdf", "wall.pdf"} {
		out = append(out, File{name, []byte(ourPDF + of)})
	}
	return out
}

// visible is what a folder holds but for the manifest.
func visible(t *testing.T, dir string) map[string]string {
	all := ls(t, dir)
	delete(all, manifestName)
	return all
}

// A run that is killed after any of its steps leaves a set that is completed by the
// next, whatever that one writes; until then it is said.
func TestBrokenOffIsCompleted(t *testing.T) {
	for placed := range 4 { // files that had their names already
		dir := filepath.Join(t.TempDir(), "out")
		require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("old"), Over: Ours, Of: origin(0)}))
		assert.Empty(t, Look(dir).Mixed())

		// What the killed run has left: temporary files, its record, some of the names.
		outs := printed("new")
		data, err := readManifest(dir).with(dir, outs, *origin(2))
		require.NoError(t, err)
		set := Set{Dir: dir, Files: append(outs, File{manifestName, data}), Over: Ours}
		var temps []string
		for _, f := range set.Files {
			temps = append(temps, beside(dir))
			require.NoError(t, writeNew(temps[len(temps)-1], f.Data))
		}
		record, err := recordOf([]Set{set}, [][]string{temps})
		require.NoError(t, err)
		require.NoError(t, writeNew(record.temp, record.data))
		_, err = record.begin()
		require.NoError(t, err)
		for i := range placed {
			require.NoError(t, os.Rename(temps[i], filepath.Join(dir, set.Files[i].Name)))
		}
		assert.Contains(t, Look(dir).Mixed(), "broke off between its files")

		require.NoError(t, All(t.Context(), dir, []File{{"n.csv", []byte("x")}}, Any))
		want := map[string]string{"n.csv": "x"}
		for _, f := range outs {
			want[f.Name] = string(f.Data)
		}
		assert.Equal(t, want, visible(t, dir), "%d placed", placed)
		assert.Empty(t, Look(dir).Mixed())
		assert.Equal(t, 2, Look(dir).Files[0].Origin.Revision)
	}
}

// A record is obeyed only in the folders that this run writes to, and only for what
// slotcard has written there: it may come from anybody.
func TestRecordOfSomebodyElse(t *testing.T) {
	home := t.TempDir()
	dir, victim := filepath.Join(home, "out"), filepath.Join(home, "victim")
	require.NoError(t, os.MkdirAll(dir, 0o777))
	require.NoError(t, os.WriteFile(victim, []byte("theirs"), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.pdf"), []byte("%PDF-1.3 theirs"), 0o666))
	temp := filepath.Base(beside(dir))
	for _, in := range []string{dir, home} {
		require.NoError(t, os.WriteFile(filepath.Join(in, temp), []byte("bad"), 0o666))
	}
	r := record{Version: manifestVersion, Moves: []move{
		{"..", temp, "victim", sum([]byte("bad")), Any}, {"", temp, "../victim", sum([]byte("bad")), Any},
		{"", "notes.pdf", "x.pdf", sum([]byte("%PDF-1.3 theirs")), Any}, {"", temp, "notes.pdf", sum([]byte("bad")), Ours},
		{"", temp, "y.pdf", sum([]byte("other")), Any},
	}}
	data, err := json.Marshal(r)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, recordName), data, 0o666))
	require.NoError(t, All(t.Context(), dir, []File{{"a.pdf", []byte("a")}}, Ours))
	assert.Equal(t, map[string]string{"a.pdf": "a", "notes.pdf": "%PDF-1.3 theirs"}, ls(t, dir))
	assert.Equal(t, "theirs", ls(t, home)["victim"])
	for _, junk := range []string{"", "{", "null", `{"version":1,"moves":[{}]}`} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, recordName), []byte(junk), 0o666))
		require.NoError(t, os.WriteFile(filepath.Join(dir, manifestName), []byte(junk), 0o666))
		require.NoError(t, All(t.Context(), dir, []File{{"a.pdf", []byte(ourPDF)}}, Any))
		assert.Empty(t, Look(dir).Mixed())
	}
}

// Of a file system without second names as of any other: all or none.
func TestWithoutHardLinks(t *testing.T) {
	defer func() { link = os.Link }()
	link = func(string, string) error { return errors.New("not supported") }
	dir := t.TempDir()
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("old"), Over: Ours, Of: origin(0)}))
	before := ls(t, dir)
	bad := append(printed("new"), File{"sub/x.pdf", []byte("x")})
	require.Error(t, Sets(t.Context(), Set{Dir: dir, Files: bad, Over: Ours, Of: origin(2)}))
	assert.Equal(t, before, ls(t, dir))
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("new"), Over: Ours, Of: origin(2)}))
	assert.Equal(t, ourPDF+"new", ls(t, dir)["wall.pdf"])
	assert.Len(t, visible(t, dir), 3)
}

// What is not of one print is said.
func TestMixture(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("old"), Over: Ours, Of: origin(0)}))
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("new")[2:], Over: Ours, Of: origin(2)}))
	assert.Equal(t, "is a mixture: cards.pdf, handout.pdf of Thimble Gulch, period 2; wall.pdf of Thimble Gulch, period 2, revision 2", Look(dir).Mixed())
	same := *origin(2)
	same.State = "changed"
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("newer")[:2], Over: Ours, Of: &same}))
	assert.Equal(t, "is a mixture: cards.pdf, handout.pdf of Thimble Gulch, period 2, revision 2; "+
		"wall.pdf of Thimble Gulch, period 2, revision 2, of another state of the plan", Look(dir).Mixed())
	require.NoError(t, Sets(t.Context(), Set{Dir: dir, Files: printed("all"), Over: Ours, Of: origin(2)}))
	assert.Empty(t, Look(dir).Mixed(), "the next print of all repairs it")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wall.pdf"), []byte(ourPDF+"of a stick"), 0o666))
	assert.Equal(t, "is a mixture: cards.pdf, handout.pdf of Thimble Gulch, period 2, revision 2; wall.pdf not as printed there", Look(dir).Mixed())
	require.NoError(t, os.Remove(filepath.Join(dir, "wall.pdf")))
	assert.Empty(t, Look(dir).Mixed(), "what somebody has put away is no mixture")

	assert.True(t, origin(2).newer(*origin(0)))
	assert.False(t, origin(0).newer(*origin(1)))
	assert.False(t, Origin{Incident: "Osier Bench", Period: 3}.newer(*origin(2)))
}

// Many runs into one folder at once: it ends with the files of one of them.
func TestManyAtOnce(t *testing.T) {
	home := t.TempDir()
	dir := filepath.Join(home, "out")
	var all sync.WaitGroup
	for i := range 12 {
		all.Go(func() {
			sets := []Set{{Dir: dir, Files: printed(fmt.Sprint(i)), Over: Ours, Of: origin(i)}, {Dir: home, Files: []File{{"n.csv", []byte(fmt.Sprint(i))}}, Over: Any}}
			assert.NoError(t, Sets(t.Context(), sets...))
		})
	}
	all.Wait()
	n := ls(t, home)["n.csv"]
	for name, data := range visible(t, dir) {
		assert.Equal(t, ourPDF+n, data, name)
	}
	assert.Len(t, visible(t, dir), 3)
	assert.Empty(t, Look(dir).Mixed())
	assert.Len(t, ls(t, home), 2, "no lock is left")
}

// A file that another run has changed since this one read it is not written over.
func TestExpected(t *testing.T) {
	dir := t.TempDir()
	write := func(was map[string][]byte, text string) error {
		return Sets(t.Context(), Set{Dir: dir, Files: []File{{"n.csv", []byte(text)}}, Over: Any, Expect: was})
	}
	absent := map[string][]byte{"n.csv": nil}
	require.NoError(t, write(absent, "1"))
	require.NoError(t, write(absent, "1"), "the same again")
	require.ErrorIs(t, write(absent, "2"), ErrChanged)
	assert.Equal(t, map[string]string{"n.csv": "1"}, ls(t, dir))
	require.NoError(t, write(map[string][]byte{"n.csv": []byte("1")}, "2"))

	require.NoError(t, Sets(t.Context()), "nothing to write is written")
	require.NoError(t, Sets(t.Context(), Set{Dir: filepath.Join(dir, "none")}))
	assert.NoDirExists(t, filepath.Join(dir, "none"))
}

// Whose lock it is decides: of a run that is gone here at once, of one elsewhere when
// it shows no life, and of one that lives never.
func TestLock(t *testing.T) {
	defer func(a, b, c time.Duration) { beat, deadFor, patience = a, b, c }(beat, deadFor, patience)
	const long = time.Minute // more than any machine stalls: nothing here waits for it
	beat, deadFor, patience = 10*time.Millisecond, long, long
	dir := t.TempDir()
	path := filepath.Join(dir, lockName)
	put := func(o owner) {
		text, err := json.Marshal(o)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(path, append(text, '\n'), 0o666))
	}
	take := func() time.Duration {
		began := time.Now()
		l, err := lockDir(t.Context(), dir)
		require.NoError(t, err)
		require.True(t, l.held())
		l.release()
		require.NoFileExists(t, path)
		return time.Since(began)
	}
	put(owner{identity(), 4_000_000, "x", "13:05:00"})
	assert.Less(t, take(), long, "its process is gone")
	put(owner{identity(), os.Getpid(), "x", "13:05:00"})
	assert.Less(t, take(), long, "its process has our number now")
	deadFor = 300 * time.Millisecond
	put(owner{"elsewhere", 1, "x", "13:05:00"})
	assert.GreaterOrEqual(t, take(), deadFor, "nobody knows but by waiting")
	require.NoError(t, os.WriteFile(path, nil, 0o666))
	assert.GreaterOrEqual(t, take(), deadFor, "one that broke off")

	deadFor, patience = long, 300*time.Millisecond
	lives, err := lockDir(t.Context(), dir)
	require.NoError(t, err)
	_, err = lockDir(t.Context(), dir)
	require.ErrorContains(t, err, "is being written by another slotcard, process ")
	patience = long
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	_, err = lockDir(ctx, dir)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	assert.True(t, lives.held())
	lives.release()

	// Two that find one dead: the second does not take what the first has now.
	put(owner{identity(), 4_000_000, "dead", ""})
	dead, err := os.ReadFile(path)
	require.NoError(t, err)
	first, err := lockDir(t.Context(), dir)
	require.NoError(t, err)
	first.breakOpen(dead)
	assert.True(t, first.held())
	first.release()
}
