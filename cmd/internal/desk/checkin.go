package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"path"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"slotcard/cmd/internal/files"
)

func init() {
	register(&View{Name: "checkin", Title: "Check-in", Place: 65, Kinds: []string{"plan"}, Data: checkinData,
		Do: map[string]func(*Page) (string, error){"scan": checkinScan, "done": checkinDone}})
}

// The check-in table is verify --watch: this view types into it what is scanned, shows
// what it answers, and reads its journal, which survives whatever happens.

// table is a check-in that goes on.
type table struct {
	in    *io.PipeWriter
	done  chan struct{}
	mu    sync.Mutex
	said  bytes.Buffer
	asked string // what was typed last
	mark  int    // where its answer begins
}

func (t *table) Write(b []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.said.Write(b)
}

func (t *table) length() int {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.said.Len()
}

// answer is what was said since it was asked last.
func (t *table) answer() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return strings.TrimSpace(string(t.said.Bytes()[t.mark:]))
}

// tables are those that go on, by plan.
type tables struct {
	mu  sync.Mutex
	all map[string]*table
}

// journalName is where a check-in is kept, beside the plan.
func journalName(file string) string { return strings.TrimSuffix(file, ".toml") + ".checkin.jsonl" }

func (d *desk) table(file string, begin bool) *table {
	d.tables.mu.Lock()
	defer d.tables.mu.Unlock()
	if t := d.tables.all[file]; t != nil || !begin {
		return t
	}
	r, w := io.Pipe()
	t := &table{in: w, done: make(chan struct{})}
	if d.tables.all == nil {
		d.tables.all = map[string]*table{}
	}
	d.tables.all[file] = t
	go func() {
		// Not of a request: it goes on until somebody says done, or the desk closes.
		d.Run(d.ctx, d.Folder, []string{"verify", filepath.FromSlash(file), "--watch", "--journal", filepath.FromSlash(journalName(file))}, r, t, t)
		r.Close()
		d.tables.mu.Lock()
		delete(d.tables.all, file)
		d.tables.mu.Unlock()
		close(t.done)
		d.pages.wake()
	}()
	return t
}

// answered waits until a table has said something and nothing more comes.
func (t *table) answered(ctx context.Context, before int) {
	const still, most = 60 * time.Millisecond, 10 * time.Second
	end := time.After(most)
	last, since := before, time.Now()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-t.done:
			return
		case <-ctx.Done():
			return
		case <-end:
			return
		case <-tick.C:
			if n := t.length(); n != last {
				last, since = n, time.Now()
			} else if n > before && time.Since(since) > still {
				return
			}
		}
	}
}

// checkinScan types what was scanned.
func checkinScan(p *Page) (string, error) {
	text := strings.TrimSpace(strings.ReplaceAll(p.Ask("text"), "\r\n", "\n"))
	if text == "" {
		return "", errors.New("scan a card, or type its number")
	}
	if p.State.Broken() {
		return "", errors.New("nobody can check in while the plan has errors: see Findings")
	}
	journal := journalName(p.File)
	if info, err := p.desk.Folder.Lstat(journal); err == nil && !info.Mode().IsRegular() {
		return "", errors.New(path.Base(journal) + " is no regular file: the check-in cannot be kept in it")
	}
	t := p.desk.table(p.File, true)
	t.mu.Lock()
	before := t.said.Len()
	t.mark, t.asked = before, text
	t.mu.Unlock()
	if _, err := io.WriteString(t.in, text+"\n"); err != nil {
		return "", errors.New("the check-in has ended: scan again to take it up")
	}
	t.answered(p.Ctx(), before)
	p.desk.lastAnswer(p.File, t.answer())
	p.desk.pages.wake()
	return p.At("checkin"), nil
}

// lastAnswer keeps what the table said last, after it has ended, too.
func (d *desk) lastAnswer(file, said string) {
	d.tables.mu.Lock()
	defer d.tables.mu.Unlock()
	if d.answers == nil {
		d.answers = map[string]string{}
	}
	d.answers[file] = said
}

// checkinDone ends the table; its journal stays.
func checkinDone(p *Page) (string, error) {
	t := p.desk.table(p.File, true)
	t.mu.Lock()
	t.mark = t.said.Len()
	t.mu.Unlock()
	_, _ = io.WriteString(t.in, "done\n")
	select {
	case <-t.done:
	case <-time.After(10 * time.Second):
	case <-p.Ctx().Done():
	}
	p.desk.lastAnswer(p.File, t.answer())
	return p.At("checkin"), nil
}

// CheckIn is the roster: who was seen with which list.
type CheckIn struct {
	Rows    []Row
	Seen    int
	Answer  []string
	Bad     bool // the last answer is not what it should be
	Running bool
	Journal string
}

// Row is a seat.
type Row struct {
	Number         int
	Unit, Position string
	Result         string // "": not seen
	Said           string
}

func checkinData(p *Page) (any, error) {
	g, err := p.good()
	if err != nil {
		return nil, err
	}
	m, err := g.make(p.Ctx(), nil, true) // numbers the cards as print does
	if err != nil {
		return nil, whyNot(err)
	}
	v := &CheckIn{Journal: journalName(p.File), Running: p.desk.table(p.File, false) != nil}
	last := map[int]Row{}
	data, err := files.ReadWithin(p.desk.Folder, filepath.FromSlash(v.Journal), 64<<20)
	if err == nil {
		for line := range bytes.Lines(data) {
			var a struct {
				Answer, Card int
				Result       string
				Said         []string
			}
			if json.Unmarshal(line, &a) == nil && a.Answer > 0 && a.Card > 0 {
				last[a.Card] = Row{Result: a.Result, Said: strings.Join(a.Said, "; ")}
			}
		}
	}
	for _, c := range m.job.Plan.Cards {
		r := last[c.Number]
		r.Number, r.Unit, r.Position = c.Number, c.Unit.Name, seat(c)
		if r.Result != "" {
			v.Seen++
		}
		v.Rows = append(v.Rows, r)
	}
	p.desk.tables.mu.Lock()
	said := p.desk.answers[p.File]
	p.desk.tables.mu.Unlock()
	if said != "" {
		v.Answer = strings.Split(said, "\n")
	}
	return v, nil
}
