package desk

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A full disk, one that cannot be written, and a folder that is gone leave the last
// good file, and the page says what is wrong; then it goes on. The disk is a small file
// system in memory, of the system's own making.
func TestNeverLost(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=1m"); err != nil {
		t.Skip("no file system can be made here, so that no disk is full: ", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(disk, syscall.MNT_DETACH) })
	fire := filepath.Join(disk, "fire")
	require.NoError(t, os.Mkdir(fire, 0o755))
	for _, name := range []string{"plan.toml", "load.toml"} {
		data, err := os.ReadFile(filepath.Join(examples, "thimble-gulch", name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(fire, name), data, 0o644))
	}
	d := openedIn(t, disk)
	const at = "/divisions/fire/plan.toml"
	n := 0
	edit := func() *http.Response {
		n++
		return answer(d, ask(d, http.MethodPost, at, url.Values{"do": {"set"}, "i": {"0"}, "name": {"A"}, "id": {"A"}, "called": {strings.Repeat("x", n)}}))
	}
	works := func() {
		t.Helper()
		before := planText(t)
		require.Equal(t, http.StatusSeeOther, edit().StatusCode)
		require.NotEqual(t, before, planText(t))
		require.Equal(t, http.StatusSeeOther, answer(d, ask(d, http.MethodPost, "/history/fire/plan.toml", url.Values{"do": {"undo"}})).StatusCode)
		require.Equal(t, before, planText(t))
		require.Equal(t, http.StatusSeeOther, edit().StatusCode)
	}
	refused := func(why string) {
		t.Helper()
		before, there := planText(t), names(t, fire)
		for range 3 {
			r := edit()
			assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode)
			page := body(t, r)
			_, said, _ := strings.Cut(page, `role="alert"><b>`)
			said, _, _ = strings.Cut(said, "</b>")
			assert.Contains(t, said, why)
			assert.Equal(t, before, planText(t))
		}
		assert.Equal(t, there, names(t, fire), "nothing is left of what could not be written")
	}
	works()

	full := filepath.Join(disk, "full")
	f, err := os.Create(full)
	require.NoError(t, err)
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, f.Close())
	refused("no space left")
	require.NoError(t, os.Remove(full))
	works()

	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	refused("read-only")
	require.NoError(t, syscall.Mount("", disk, "", syscall.MS_REMOUNT, "size=1m"))
	works()

	away := filepath.Join(disk, "pulled")
	text := planText(t)
	require.NoError(t, os.Rename(fire, away))
	r := edit()
	assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode)
	assert.Contains(t, body(t, r), "is not there any more")
	assert.NoDirExists(t, fire, "no folder is made in its place")
	r = answer(d, ask(d, http.MethodPost, "/history/fire/plan.toml", url.Values{"do": {"undo"}}))
	assert.Equal(t, http.StatusUnprocessableEntity, r.StatusCode)
	assert.NoDirExists(t, fire)
	r = answer(d, ask(d, http.MethodGet, "/cards/fire/plan.toml", nil))
	page := body(t, r)
	assert.Equal(t, http.StatusOK, r.StatusCode)
	assert.Contains(t, page, "is not there any more")
	assert.Contains(t, page, "What you see is from")
	assert.Contains(t, page, "Engine 611")
	require.NoError(t, os.Rename(away, fire))
	assert.Equal(t, text, planText(t))
	works()
}
