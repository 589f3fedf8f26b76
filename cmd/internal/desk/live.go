package desk

import (
	"context"
	"fmt"
	"net/http"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/fsnotify/fsnotify"
)

// What is live: each open page holds a connection, and is told when what it shows has
// changed on the disk. It then asks for itself anew.

// pages are the open pages.
type pages struct {
	mu     sync.Mutex
	open   map[chan struct{}]string // what each shows
	opened bool                     // one was open
	since  time.Time                // when the last one was closed
}

func newPages() *pages { return &pages{open: map[chan struct{}]string{}} }

func (p *pages) add(file string) chan struct{} {
	p.mu.Lock()
	defer p.mu.Unlock()
	wake := make(chan struct{}, 1)
	p.open[wake] = file
	p.opened = true
	return wake
}

func (p *pages) remove(wake chan struct{}) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.open, wake)
	if now := time.Now(); now.After(p.since) {
		p.since = now
	}
}

// unseen is how long a page that is hidden counts as open after it last said so:
// browsers let its clock run once a minute at the least.
const unseen = 130 * time.Second

// hidden is said now and then by a page that is not looked at. It holds no connection,
// of which a browser has six for all its pages.
func (p *pages) hidden() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.opened = true
	p.since = time.Now().Add(unseen)
}

// closedFor is how long no page has been open; 0 while one is, or before the first.
func (p *pages) closedFor() time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.opened || len(p.open) > 0 {
		return 0
	}
	return time.Since(p.since)
}

// wake tells all pages to look whether something has changed.
func (p *pages) wake() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for wake := range p.open {
		select {
		case wake <- struct{}{}:
		default: // it is awake
		}
	}
}

// shows are the files that are shown.
func (p *pages) shows() map[string]bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	files := map[string]bool{}
	for _, f := range p.open {
		files[f] = true
	}
	return files
}

// beat is how often a page is told that the desk is still there.
const beat = 15 * time.Second

// live tells a page when its file is another than the one it knows.
func (d *desk) live(w http.ResponseWriter, r *http.Request) {
	file := r.PathValue("file")
	if file != "" && (path.Ext(file) != ".toml" || !isLocal(file)) {
		d.forbid(w, "that is no plan or load of the folder that is open")
		return
	}
	if r.URL.Query().Has("hidden") {
		d.pages.hidden()
		w.WriteHeader(http.StatusNoContent)
		return
	}
	seen := r.URL.Query().Get("seen")
	w.Header().Set("Content-Type", "text/event-stream")
	c := http.NewResponseController(w)
	wake := d.pages.add(file)
	defer d.pages.remove(wake)
	if file != "" {
		d.presence.open(file)
		defer d.presence.shut(file)
	}
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for {
		if now := d.version(file); now != seen {
			seen = now
			fmt.Fprintf(w, "event: changed\ndata: %s\n\n", now)
		} else {
			fmt.Fprint(w, ": still here\n\n")
		}
		if c.Flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-d.ctx.Done():
			fmt.Fprint(w, "event: closed\ndata:\n\n")
			_ = c.Flush()
			return
		case <-wake:
		case <-tick.C:
		}
	}
}

// version tells states of what a page shows apart.
func (d *desk) version(file string) string {
	if file != "" {
		v := d.shelf.get(file).Key()
		if d.presence.others(file) {
			v += "+"
		}
		if info, err := d.Folder.Stat(ticksName(file)); err == nil {
			v += fmt.Sprintf("+%d", info.Size())
		}
		return v
	}
	names, _ := d.shelf.list()
	var b strings.Builder
	for _, n := range names {
		if info, err := d.Folder.Stat(n); err == nil {
			fmt.Fprintf(&b, "%s %d %d\n", n, info.Size(), info.ModTime().UnixNano())
		}
	}
	return textKey(b.String())
}

// settling is how long a save may take that comes in several steps.
const settling = 20 * time.Millisecond

// pollEvery is how often files are looked at where no event comes, as on network
// folders.
const pollEvery = 250 * time.Millisecond

// watch wakes the pages when something changes in the folders of what they show.
func (d *desk) watch(ctx context.Context) {
	watcher, err := fsnotify.NewWatcher()
	var events chan fsnotify.Event
	if err == nil {
		defer watcher.Close()
		events = watcher.Events
	}
	watched := map[string]bool{}
	poll := time.NewTicker(pollEvery)
	defer poll.Stop()
	beats := time.NewTicker(presenceBeat)
	defer beats.Stop()
	last := ""
	var soon <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return
		case e := <-events:
			// Our own marks are no change.
			if !strings.Contains(filepath.ToSlash(e.Name), hidden+"/") && filepath.Base(e.Name) != hidden {
				soon = time.After(settling)
			}
		case <-soon:
			soon = nil
			last = d.glance()
			d.pages.wake()
		case <-beats.C:
			if d.presence.beat() {
				d.pages.wake()
			}
		case <-poll.C:
			if events != nil {
				for dir := range d.folders() {
					if !watched[dir] && watcher.Add(dir) == nil { // editors write by rename: the folder is watched
						watched[dir] = true
					}
				}
			}
			if now := d.glance(); now != last {
				last = now
				d.pages.wake()
			}
		}
	}
}

// folders are those of the files that pages show, and of what these need.
func (d *desk) folders() map[string]bool {
	dirs := map[string]bool{}
	for file := range d.pages.shows() {
		if file == "" {
			dirs["."] = true
			continue
		}
		for _, n := range d.shelf.get(file).needed {
			if isLocal(n) {
				dirs[filepath.FromSlash(path.Dir(n))] = true
			}
		}
	}
	return dirs
}

// glance is what the system says of the files that pages show, without reading them.
func (d *desk) glance() string {
	var b strings.Builder
	look := func(n string) {
		if info, err := d.Folder.Stat(n); err == nil {
			fmt.Fprintf(&b, "%s %d %d\n", n, info.Size(), info.ModTime().UnixNano())
		}
	}
	for file := range d.pages.shows() {
		if file == "" {
			continue // asked for by its events, and at each beat
		}
		d.shelf.mu.Lock()
		st := d.shelf.states[file]
		d.shelf.mu.Unlock()
		if st != nil {
			for _, n := range st.needed {
				look(n)
			}
		}
		look(ticksName(file))
	}
	return sortedLines(b.String())
}

// hidden is the folder beside a plan that holds what the desk keeps for itself.
const hidden = ".slotcard"

// presenceBeat is how often a desk says that it has a file open.
const presenceBeat = 3 * time.Second
