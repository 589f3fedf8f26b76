package papers

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/changes"
	"slotcard/plan/numbers"
	"slotcard/plan/tomlfile"
)

// NumbersEnd is what the file that holds the numbers of a plan's cards is called
// after the plan.
const NumbersEnd = ".cards.csv"

// maxNumbers bounds that file, in bytes.
const maxNumbers = 16 << 20

// numbersFile holds the numbers of the cards of a plan, beside it; "" where the plan
// is no file.
func numbersFile(plan string) string {
	if plan == files.Stdin {
		return ""
	}
	return strings.TrimSuffix(plan, ".toml") + NumbersEnd
}

// Numbering is who has which card.
type Numbering struct {
	file  string         // "": kept nowhere
	raw   []byte         // the file as it was read, nil where it is absent
	own   []numbers.Held // what stands in it
	base  []numbers.Held // the same with what was held before
	Now   []numbers.Held // with the seats of the plan
	moved []numbers.Held // seats with other numbers than in the plan of --since
	taken []numbers.Held // holders in that plan of numbers that others have now

	attached bool // to a PDF: nothing is written there
}

// Number numbers the cards of a plan as its file has it, or in the order of the plan.
func Number(reader *files.Reader, name string, r *plan.Resolved) (*Numbering, error) {
	n, err := held(reader, name)
	if err != nil {
		return nil, err
	}
	n.base = n.own
	return n, n.assign(r)
}

// NumberBoth numbers the cards of two plans: those of the old one on its own, and the
// seats of the new one that stay as there.
func NumberBoth(reader *files.Reader, oldName, newName string, c *changes.Changes) (*Numbering, error) {
	old, err := Number(reader, oldName, c.Old)
	n, errNew := held(reader, newName)
	if err := errors.Join(err, errNew); err != nil {
		return nil, err
	}
	if n.base = n.own; !c.OtherIncident {
		n.base = numbers.Merge(n.own, old.Now)
		n.moved, n.taken = numbers.Apart(n.own, old.Now)
	}
	return n, n.assign(c.New)
}

// assign numbers the cards.
func (n *Numbering) assign(r *plan.Resolved) error {
	n.Now = numbers.Assign(r.Cards, n.base, numbers.None)
	if k := len(n.Now); k > 0 && n.Now[k-1].Number > numbers.MaxNumber {
		return files.Fail(n.file, "leaves no number for new cards: the highest can be 1000000; give the last rows lower numbers that nobody has", nil)
	}
	return nil
}

// held reads the file beside a plan.
func held(reader *files.Reader, name string) (_ *Numbering, err error) {
	n := &Numbering{file: numbersFile(name), attached: reader.Pack(name) != ""}
	if n.file == "" {
		return n, nil
	}
	data := reader.Held(n.file)
	if n.attached && data == nil {
		return n, nil
	}
	if !n.attached {
		if _, err := os.Lstat(n.file); errors.Is(err, fs.ErrNotExist) {
			return n, nil
		}
		if data, err = files.ReadRegular(n.file, maxNumbers); err != nil {
			return nil, err
		}
	}
	n.raw = data
	if n.own, err = numbers.Read(bytes.NewReader(data)); err == nil {
		return n, nil
	}
	var all []error
	for line := range strings.SplitSeq(err.Error(), "\n") {
		all = append(all, files.Fail(n.file, line, nil))
	}
	return nil, errors.Join(append(all, files.Fail(n.file, "correct that, or delete the file: then the cards are numbered anew, and cards that are out may bear numbers that others get", nil))...)
}

// text is the file as it is to be written when these cards are printed; nil where
// nothing is new in it.
func (n *Numbering) text(r *plan.Resolved, printed func(*plan.Card) bool) ([]byte, error) {
	if n.file == "" || n.attached || len(r.Cards) == 0 {
		return nil, nil
	}
	var before, now bytes.Buffer
	if err := numbers.Write(&now, numbers.Assign(r.Cards, n.base, printed)); err != nil {
		return nil, err
	}
	if n.own != nil {
		if err := numbers.Write(&before, n.own); err != nil {
			return nil, err
		}
	}
	if bytes.Equal(before.Bytes(), now.Bytes()) {
		return nil, nil
	}
	return now.Bytes(), nil
}

// KeepNumbers adds the numbers to what a run writes, where its cards come into people's
// hands. Where that cannot be, the cards are printed all the same, and it is said.
func (j *Job) KeepNumbers(sets []publish.Set) ([]publish.Set, error) {
	if j.Plan == nil || !j.deals() {
		return sets, nil
	}
	if anew := j.anew(); anew != "" {
		j.Notes = append(j.Notes, anew)
	}
	// A card that --changed-only keeps bears the code that a new one would.
	text, err := j.Numbers.text(j.Plan, j.some.has)
	if err != nil || text == nil {
		return sets, err
	}
	dir, name := filepath.Split(j.Numbers.file)
	dir = filepath.Clean(dir + ".")
	if err := publish.CanWrite(dir, name); err != nil {
		then := "as soon as a unit is added before them, the next print and verify --watch give other ones"
		if j.Before != nil {
			then = "verify --watch and a print without --since number the cards in the order of the plan, which may not be what they bear"
		}
		if j.Numbers.own != nil {
			then = "seats that are not in it yet may get another number at the next print and in verify --watch"
		}
		j.Notes = append(j.Notes, "slotcard: "+voice.Printable(err.Error())+"; all is printed, but the numbers of the cards are not kept: "+then)
		return sets, nil
	}
	j.Notes = append(j.Notes, voice.Name(j.Numbers.file)+": which card is whose, for the next print and the check-in: keep it beside the plan")
	return append(sets, publish.Set{Dir: dir, Files: []publish.File{{Name: name, Data: text}}, Over: publish.Any,
		Expect: map[string][]byte{name: j.Numbers.raw}}), nil // two prints at one moment do not give one number to two seats
}

// deals tells whether a run makes papers that seats have from then on.
func (j *Job) deals() bool {
	for _, p := range j.chosen() {
		if p.deals {
			return true
		}
	}
	return false
}

// TellApart says where numbers are not those of the plan before.
func (n *Numbering) TellApart(v *voice.Voice, old string) {
	if len(n.moved) > 0 {
		m := n.moved[0]
		v.Tell("slotcard: %s other numbers than in %s, such as %s, card %d there: so %s holds them, from an earlier print; where none of that print is out, delete it and print again",
			voice.Count(len(n.moved), "seat has", "seats have"), old, m.Name(), m.Number, n.file)
	}
	if len(n.taken) > 0 {
		m := n.taken[0]
		v.Tell("slotcard: %s another holder than in %s, such as card %d, there of %s: take the old cards in, or two people answer to one number",
			voice.Count(len(n.taken), "card number has", "card numbers have"), old, m.Number, m.Name())
	}
}

// Sibling is another plan of the same incident, in the same folder, whose cards were
// printed.
type Sibling struct {
	plan, File string
	incident   plan.Incident
	Held       []numbers.Held
}

// Siblings are those of a plan, and what of their files cannot be read.
func Siblings(reader *files.Reader, name string, r *plan.Resolved) (all []Sibling, unread []error) {
	own := numbersFile(name)
	if own == "" {
		return nil, nil
	}
	found, _ := filepath.Glob(filepath.Join(files.GlobSafe(filepath.Dir(own)), "*"+NumbersEnd))
	for _, file := range found {
		s := Sibling{plan: strings.TrimSuffix(file, NumbersEnd) + ".toml", File: file}
		if filepath.Clean(file) == filepath.Clean(own) || !files.IsRegular(s.plan) {
			continue
		}
		data, err := reader.ReadFile(s.plan)
		if err != nil {
			unread = append(unread, err)
			continue
		}
		var p plan.Plan
		tomlfile.Decode(s.plan, data, &p)
		if s.incident = p.Incident; !changes.SameIncident(&s.incident, &r.Plan.Incident) {
			continue
		}
		n, err := held(reader, s.plan)
		if err != nil {
			unread = append(unread, err)
			continue
		}
		s.Held = n.own
		all = append(all, s)
	}
	return all, unread
}

// anew says that the cards were not numbered on from those of the plan before, which
// is likely to lie beside this one: then two people hold one number. "" where they
// are alike.
func (j *Job) anew() string {
	if j.Before != nil {
		return ""
	}
	in := &j.Plan.Plan.Incident
	var last *Sibling
	all, _ := Siblings(j.reader, j.Name, j.Plan)
	for i := range all {
		s := &all[i]
		if earlier(&s.incident, in) && (last == nil || earlier(&last.incident, &s.incident)) {
			last = s
		}
	}
	if last == nil {
		return ""
	}
	moved, taken := numbers.Apart(j.Numbers.Now, last.Held)
	if len(moved)+len(taken) == 0 {
		return ""
	}
	h := append(moved, taken...)[0]
	first := ""
	if j.Numbers.own != nil {
		first = "delete " + voice.Typed(j.Numbers.file) + " and "
	}
	return fmt.Sprintf("slotcard: these cards are not numbered as those of %s, such as %s, card %d there; to go on from it, %sprint with --since %s",
		last.plan, h.Name(), h.Number, first, voice.Typed(last.plan))
}

// earlier tells whether a plan is of an earlier period than another, or an earlier
// revision.
func earlier(a, b *plan.Incident) bool {
	return a.Period < b.Period || a.Period == b.Period && a.Revision < b.Revision
}
