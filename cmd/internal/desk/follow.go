package desk

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/successor"
)

func init() {
	register(&View{Name: "revise", Title: "Change now", Place: 55, Kinds: []string{"plan"}, Data: reviseData,
		Do: map[string]func(*Page) (string, error){"make": makeRevision, "tick": tickBox}})
	register(&View{Name: "next", Title: "Next period", Place: 57, Kinds: []string{"plan"}, Data: nextData,
		Do: map[string]func(*Page) (string, error){"make": makeNext}})
}

// Follow is how to make the plan that follows this one.
type Follow struct {
	Name     string // of the new file, proposed
	At       string // proposed time of a revision; "": the clock is not within the period
	Clock    string // what the clock of this machine says
	From, To string
	Period   int
	Revision int
	Not      string // why none can be made
	Old      string // the plan before this one; "": none
	Change   *Change
}

func reviseData(p *Page) (any, error) {
	v := &Follow{Old: p.before()}
	from, to, err := successor.Period(p.File, p.State.Text)
	if err != nil {
		v.Not = p.File + " " + err.Error()
		return v, nil
	}
	now := time.Now().In(from.Location())
	v.Clock, v.From, v.To = successor.Minute(now), successor.Minute(from), successor.Minute(to)
	if !now.Before(from) && !now.After(to) {
		v.At = now.Format("15:04")
	}
	if in := p.incident(); in != nil {
		v.Period, v.Revision = in.Period, max(in.Revision, 1)+1
		v.Name = p.freeName(fmt.Sprintf("period-%d-revision-%d", v.Period, v.Revision))
	}
	if v.Change, err = p.change(); err != nil {
		return nil, err
	}
	return p.kept(v), nil
}

func nextData(p *Page) (any, error) {
	v := &Follow{}
	_, next, err := successor.Next(p.File, p.State.Text, successor.Paths{})
	if err != nil {
		v.Not = p.File + " " + err.Error()
		return v, nil
	}
	v.Period, v.From, v.To = next.Period, successor.Minute(next.From), successor.Minute(next.To)
	v.Name = p.freeName(fmt.Sprintf("period-%d", v.Period))
	return p.kept(v), nil
}

// kept puts back what was typed where it was refused.
func (p *Page) kept(v *Follow) *Follow {
	if p.Failed != "" {
		v.Name, v.At = p.Ask("name"), p.Ask("at")
	}
	return v
}

func (p *Page) incident() *plan.Incident {
	if p.State.Plan == nil {
		return nil
	}
	return &p.State.Plan.Plan.Incident
}

// freeName is the name of a file beside this one that is not there yet, without its
// folder and ending.
func (p *Page) freeName(base string) string {
	for i := 1; i < 100; i++ {
		name := base
		if i > 1 {
			name = fmt.Sprintf("%s-%d", base, i)
		}
		if _, err := p.desk.Folder.Lstat(path.Join(path.Dir(p.File), name+".toml")); err != nil {
			return name
		}
	}
	return base
}

func makeRevision(p *Page) (string, error) {
	at := strings.TrimSpace(p.Ask("at"))
	if at == "" {
		return "", errors.New("say when the plan was changed: nothing was written")
	}
	name, err := p.make("revise", "revise", "--at="+at)
	if err != nil { // said of the field, not of the flag
		err = errors.New(strings.TrimPrefix(err.Error(), "--at: "))
	}
	return name, err
}

func makeNext(p *Page) (string, error) { return p.make("file", "next") }

// make runs a command that writes a plan beside this one, and shows the new file.
func (p *Page) make(view, command string, flags ...string) (string, error) {
	name, err := p.desk.newFile(path.Dir(p.File), p.Ask("name"))
	if err != nil {
		return "", err
	}
	args := append([]string{command, filepath.FromSlash(p.File), "-o", filepath.FromSlash(name)}, flags...)
	if err := p.command(args, nil); err != nil {
		return "", err
	}
	return address(view, name), nil
}

// newFile is a file of a folder, given as a person types its name, that may be written.
func (d *desk) newFile(dir, typed string) (string, error) {
	typed = strings.TrimSuffix(strings.TrimSpace(typed), ".toml")
	switch {
	case typed == "":
		return "", errors.New("give the new file a name: nothing was written")
	case strings.ContainsAny(typed, `/\:*?"<>|`) || strings.HasPrefix(typed, ".") || strings.HasPrefix(typed, "-"):
		return "", errors.New("the name of the new file is letters, digits and hyphens, such as period-3: nothing was written")
	}
	name := path.Join(dir, typed+".toml")
	if !isLocal(name) {
		return "", errors.New("that name cannot be one of a file: nothing was written")
	}
	if _, err := d.Folder.Lstat(name); err == nil {
		return "", fmt.Errorf("%s is there already: give another name; nothing was written", name)
	}
	return name, d.mayWrite(dir)
}

// command runs the program; an error is what it says.
func (p *Page) command(args []string, stdin []byte) error {
	p.desk.writing.Lock()
	defer p.desk.writing.Unlock()
	var said bytes.Buffer
	if status := p.desk.Run(p.Ctx(), p.desk.Folder, args, bytes.NewReader(stdin), new(bytes.Buffer), &said); status != 0 {
		return errors.New(strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(said.String()), "slotcard: "), "."))
	}
	p.desk.pages.wake()
	return nil
}
