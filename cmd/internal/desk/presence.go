package desk

import (
	"crypto/rand"
	"io"
	"maps"
	"os"
	"path"
	"strings"
	"sync"
	"time"
)

// presence is which files this desk has open, said to other desks by marks beside
// the files. A mark that is not renewed is of a desk that was killed.
type presence struct {
	folder *os.Root
	id     string
	mu     sync.Mutex
	files  map[string]int
	marked map[string]bool // folders
	seen   map[string]bool // others that were there at the last beat
	lives  time.Duration   // how long a mark counts that is not renewed
}

func newPresence(folder *os.Root) *presence {
	return &presence{folder: folder, id: rand.Text()[:12], files: map[string]int{}, marked: map[string]bool{}, seen: map[string]bool{},
		lives: 3 * presenceBeat}
}

const markStart = "open-"

// mark is the file that says that this desk has files of a folder open.
func (p *presence) mark(dir string) string { return path.Join(dir, hidden, markStart+p.id) }

// write says which files of a folder are open; nothing where it cannot be written.
func (p *presence) write(dir string) {
	var open []string
	for f := range p.files {
		if path.Dir(f) == dir {
			open = append(open, path.Base(f))
		}
	}
	if len(open) == 0 {
		if p.marked[dir] {
			_ = p.folder.Remove(p.mark(dir))
			_ = p.folder.Remove(path.Join(dir, hidden)) // where it is empty
			delete(p.marked, dir)
		}
		return
	}
	if p.folder.MkdirAll(path.Join(dir, hidden), 0o755) == nil &&
		p.folder.WriteFile(p.mark(dir), []byte(strings.Join(open, "\n")+"\n"), 0o644) == nil {
		p.marked[dir] = true
	}
}

func (p *presence) open(file string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.files[file]++
	p.write(path.Dir(file))
}

func (p *presence) shut(file string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.files[file]--; p.files[file] <= 0 {
		delete(p.files, file)
	}
	p.write(path.Dir(file))
}

// beat renews the marks, and tells whether other desks came or went.
func (p *presence) beat() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	for dir := range maps.Clone(p.marked) {
		p.write(dir)
	}
	now := map[string]bool{}
	for f := range p.files {
		if p.look(f) {
			now[f] = true
		}
	}
	changed := !maps.Equal(now, p.seen)
	p.seen = now
	return changed
}

// others tells whether another desk has a file open.
func (p *presence) others(file string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.look(file)
}

func (p *presence) look(file string) bool {
	dir := path.Join(path.Dir(file), hidden)
	d, err := p.folder.Open(dir)
	if err != nil {
		return false
	}
	defer d.Close()
	names, _ := d.Readdirnames(1000)
	for _, n := range names {
		if !strings.HasPrefix(n, markStart) || n == markStart+p.id {
			continue
		}
		f, err := p.folder.Open(path.Join(dir, n))
		if err != nil {
			continue
		}
		info, err := f.Stat()
		fresh := err == nil && info.Mode().IsRegular() && time.Since(info.ModTime()) < p.lives
		data, _ := io.ReadAll(io.LimitReader(f, 64<<10))
		f.Close()
		if fresh && strings.Contains("\n"+string(data), "\n"+path.Base(file)+"\n") {
			return true
		}
	}
	return false
}

// close takes the marks away.
func (p *presence) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	clear(p.files)
	for dir := range maps.Clone(p.marked) {
		p.write(dir)
	}
}
