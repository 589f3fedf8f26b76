package desk

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/voice"
	"slotcard/layout/cards"
	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/rules"
)

// State is a file as it lies on the disk, and what follows from it.
type State struct {
	File     string // in the folder, with slashes
	Kind     string // "plan", "load" or "station"; "": it cannot be read
	Text     []byte
	Findings finding.List // as check shows them, worst first
	Problem  string       // why the file, or its load, cannot be read; "": it can
	Plan     *plan.Resolved
	Load     *plan.Load
	Good     *Good // the last text of it without errors; nil: none was seen

	key    key
	needed []string // files that it was made of
}

// Broken tells whether what can be shown is older than the file.
func (s *State) Broken() bool { return s.Problem != "" || s.Findings.HasErrors() }

// Stale tells whether something older is there to be shown.
func (s *State) Stale() bool { return s.Broken() && s.Good != nil }

// Key tells texts apart: it changes with the file, and with the load of a plan.
func (s *State) Key() string { return s.key.String() }

// Good is a text without errors, kept with the files that it needs.
type Good struct {
	Plan *plan.Resolved
	Load *plan.Load
	At   time.Time // when it was read

	file   string
	reader *files.Reader
	mu     sync.Mutex
	made   map[string]*made
	order  []string
}

// made is a job that was laid out, or why not.
type made struct {
	once  sync.Once
	job   *papers.Job
	deck  *cards.Deck
	found finding.List
	err   error
}

// mostMade are the layouts kept of one text: six sizes of card, sheets, and some more.
const mostMade = 24

// Job makes papers as flags ask for; the last ones are kept. With deck, it is the
// cards before they come onto paper.
func (g *Good) make(ctx context.Context, flags map[string]string, deck bool) (*made, error) {
	id := "sheets"
	if deck {
		id = "deck"
	}
	for _, name := range slices.Sorted(maps.Keys(flags)) {
		id += "\x00" + name + "=" + flags[name]
		if name == "since" || name == "words" { // read again, and made again where it is another text
			g.reader.Forget(flags[name])
			data, _ := g.reader.ReadFile(flags[name])
			id += fmt.Sprintf("\x00%x", sha256.Sum256(data))
		}
	}
	g.mu.Lock()
	m := g.made[id]
	if m == nil {
		if len(g.order) == mostMade {
			delete(g.made, g.order[0])
			g.order = g.order[1:]
		}
		m = new(made)
		g.made[id] = m
		g.order = append(g.order, id)
	}
	g.mu.Unlock()
	m.once.Do(func() { m.err = m.make(context.WithoutCancel(ctx), g, flags, deck) })
	return m, m.err
}

func (m *made) make(ctx context.Context, g *Good, flags map[string]string, deck bool) error {
	var err error
	if m.job == nil { // else the check has opened it
		request, unknown := papers.Ask(flags)
		if unknown != nil {
			return unknown
		}
		m.job = papers.NewJob(g.reader, voice.New(io.Discard, io.Discard), g.file, request)
		err = m.job.Open()
	}
	switch {
	case err != nil:
	case deck:
		if m.deck, m.found = m.job.Deal(); m.deck == nil {
			return &papers.Refused{Found: m.found}
		}
	default:
		err = m.job.LayOut(ctx)
	}
	return err
}

// key is of the texts that something was made of.
type key [sha256.Size]byte

func (k key) String() string {
	const digits = "0123456789abcdef"
	var b strings.Builder
	for _, c := range k[:12] {
		b.WriteByte(digits[c>>4])
		b.WriteByte(digits[c&15])
	}
	return b.String()
}

// shelf holds the states of the files that were asked for. The file on the disk is
// the truth: each time it is asked, and what was made of the same text is kept.
type shelf struct {
	folder *os.Root
	mu     sync.Mutex
	states map[string]*State
}

func newShelf(folder *os.Root) *shelf { return &shelf{folder: folder, states: map[string]*State{}} }

// keyOf is the key of files as they lie on the disk now.
func (s *shelf) keyOf(names []string) key {
	h := sha256.New()
	for _, n := range names {
		data, err := files.ReadWithin(s.folder, filepath.FromSlash(n), files.MaxTOML)
		h.Write([]byte(n))
		h.Write([]byte{0, byte(len(data)), byte(len(data) >> 8), byte(len(data) >> 16)})
		h.Write(data)
		if err != nil {
			h.Write([]byte(err.Error()))
		}
	}
	return key(h.Sum(nil))
}

// get is the state of a file now.
func (s *shelf) get(name string) *State {
	s.mu.Lock()
	defer s.mu.Unlock()
	old := s.states[name]
	if old != nil && s.keyOf(old.needed) == old.key {
		return old
	}
	now := s.read(name)
	if old != nil && now.Good == nil {
		now.Good = old.Good
	}
	if _, err := s.folder.Lstat(filepath.FromSlash(name)); old != nil && errors.Is(err, fs.ErrNotExist) {
		now.Problem = "is not there any more: it was moved or deleted, or its disk was taken out"
	}
	s.states[name] = now
	return now
}

// lost tells whether a file that was open is not there any more, as on a stick that was
// pulled: its pages say so, and show the last good text.
func (s *shelf) lost(name string) bool {
	s.mu.Lock()
	known := s.states[name] != nil
	s.mu.Unlock()
	_, err := s.folder.Lstat(filepath.FromSlash(name))
	return known && errors.Is(err, fs.ErrNotExist)
}

func (s *shelf) read(name string) *State {
	local := filepath.FromSlash(name)
	reader := files.NewReaderWithin(context.Background(), strings.NewReader(""), s.folder)
	st := &State{File: name}
	var err error
	var job *papers.Job
	if data, unread := reader.ReadFile(local); unread == nil && plan.IsLoad(data) { // checked once, and kept
		st.Kind = "load"
		st.Load, st.Findings, err = rules.OpenLoad(local, papers.Options(reader))
	} else {
		st.Kind, st.Plan, st.Findings, job, err = papers.CheckForPrint(reader, local)
	}
	if st.Plan != nil {
		st.Load = st.Plan.Load
	}
	if err != nil {
		st.Problem = said(err)
	}
	st.Findings.Group()
	st.Findings.Sort()
	st.Text, _ = reader.ReadFile(local)
	for _, n := range reader.Read() {
		st.needed = append(st.needed, filepath.ToSlash(n))
	}
	if !slices.Contains(st.needed, name) {
		st.needed = append(st.needed, name)
	}
	st.key = s.keyOf(st.needed)
	if !st.Broken() && (st.Plan != nil || st.Kind == "load") {
		st.Good = &Good{Plan: st.Plan, Load: st.Load, At: time.Now(), file: local, reader: reader, made: map[string]*made{}}
		if job != nil { // an edit is not read and checked twice
			st.Good.made["deck"], st.Good.order = &made{job: job}, []string{"deck"}
		}
	}
	return st
}

// said is what is wrong, without the name of the file where it is about one.
func said(err error) string {
	var f *files.Error
	if errors.As(err, &f) {
		return f.Problem
	}
	return err.Error()
}

// Entry is a file of the folder, as far as its head tells.
type Entry struct {
	File     string
	Kind     string
	Incident plan.Incident
	About    plan.About
	Changed  time.Time
	Errors   int
	Warnings int
	Problem  string
}

// mostFiles and mostDeep bound how far the folder is looked through.
const (
	mostFiles = 500
	mostDeep  = 4
)

// list are the plans, loads and station files of the folder, and how many there are
// beyond those.
func (s *shelf) list() (names []string, more bool) {
	root := s.folder.FS()
	_ = fs.WalkDir(root, ".", func(p string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return nil // a folder that may not be read shows nothing
		case p != "." && strings.HasPrefix(e.Name(), "."):
			if e.IsDir() {
				return fs.SkipDir
			}
			return nil
		case e.IsDir() && strings.Count(p, "/") >= mostDeep:
			return fs.SkipDir
		case e.IsDir() || path.Ext(p) != ".toml":
			return nil
		case len(names) == mostFiles:
			more = true
			return fs.SkipAll
		}
		names = append(names, p)
		return nil
	})
	return names, more
}

// text is the good text.
func (g *Good) text() []byte {
	data, _ := g.reader.ReadFile(g.file)
	return data
}
