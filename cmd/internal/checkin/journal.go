package checkin

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/slotlist"
)

// journalHead is the first line of a journal. Field names stay.
type journalHead struct {
	Journal  string          `json:"journal"` // what the file is: journalKind
	Version  int             `json:"version"`
	Incident string          `json:"incident"`
	Period   int             `json:"period"`
	Revision int             `json:"revision,omitempty"`
	Lists    []slotlist.Code `json:"lists"`
	Texts    string          `json:"texts"`  // of all lists: begin of their SHA-256
	Roster   string          `json:"roster"` // of all cards: begin of their SHA-256
}

const (
	journalKind    = "slotcard check-in"
	journalVersion = 1
)

// answer is a line in a journal. Field names stay.
type answer struct {
	Answer   int           `json:"answer"` // from 1
	Card     int           `json:"card,omitempty"`
	Unit     string        `json:"unit,omitempty"`
	Position string        `json:"position,omitempty"`
	Result   string        `json:"result"` // as verify has it
	Code     slotlist.Code `json:"code,omitempty"`
	Said     []string      `json:"said,omitempty"` // what differs
}

func headOf(r *plan.Resolved) journalHead {
	h := journalHead{Journal: journalKind, Version: journalVersion, Incident: r.Plan.Incident.Name, Period: r.Plan.Incident.Period, Revision: r.Plan.Incident.Revision}
	var texts, roster strings.Builder
	for _, l := range r.Lists {
		h.Lists = append(h.Lists, l.Code)
		texts.WriteString(l.Text)
	}
	for _, c := range r.Cards {
		fmt.Fprintf(&roster, "%d\t%s\t%s\t%d\t%s\n", c.Number, c.Unit.Name, c.Position.Name, c.Nth, c.List.Code)
	}
	begin := func(s string) string {
		sum := sha256.Sum256([]byte(s))
		return hex.EncodeToString(sum[:8])
	}
	h.Texts, h.Roster = begin(texts.String()), begin(roster.String())
	return h
}

// against tells why a journal does not go with the plan; "" if it does.
func (h journalHead) against(plan journalHead) string {
	switch {
	case h.Journal != journalKind:
		return "is not a check-in journal; name a new file, or one that this check-in has written"
	case h.Version != journalVersion:
		return fmt.Sprintf("is a journal of version %d, and slotcard reads only version %d; name another file", h.Version, journalVersion)
	case h.Incident != plan.Incident || h.Period != plan.Period || h.Revision != plan.Revision:
		return fmt.Sprintf("is the journal of another plan: %s, %s; this is %s, %s: name another file",
			h.Incident, report.IssueOf(h.Period, h.Revision), plan.Incident, report.IssueOf(plan.Period, plan.Revision))
	case h.Texts != plan.Texts:
		return fmt.Sprintf("is the journal of another list: %s; this plan has %s: name another file", pairsOf(h.Lists), pairsOf(plan.Lists))
	case h.Roster != plan.Roster:
		return "was begun with other units or seats, and the cards have other numbers now; name another file"
	}
	return ""
}

func pairsOf(codes []slotlist.Code) string {
	var pairs []string
	for _, c := range codes {
		pairs = append(pairs, c.Pairs())
	}
	return strings.Join(pairs, ", ")
}

// The journal of a check-in is a text file of JSON lines, the first about the
// plan, each other one an answer. It is only ever added to. A line is written
// with one call and is on the disk before its answer is shown, so that whatever
// was seen is in it. A line that broke off, because the computer stopped in the
// middle of it, was never answered: it stays as it is and is set aside.

// journal is one that answers are added to. Without a file it keeps none.
type journal struct{ file *publish.Journal }

// openJournal makes a journal, or takes one up again: what answers it has, and
// how many lines broke off.
func openJournal(name string, head journalHead) (j *journal, had []answer, torn int, err error) {
	file, data, err := publish.OpenJournal(name)
	if err != nil {
		return nil, nil, 0, err
	}
	defer func() {
		if err != nil {
			file.Close()
		}
	}()
	first, err := json.Marshal(head)
	if err != nil {
		panic("journal: " + err.Error())
	}

	// A first line that broke off is the beginning of what would be written now.
	begun := bytes.IndexByte(data, '\n') >= 0
	switch {
	case len(data) == 0:
	case bytes.Equal(data, first): // all of it but its end
		begun = true
	case !begun && bytes.HasPrefix(first, data):
		torn++
	default:
		if had, torn, err = readJournal(name, data, head); err != nil {
			return nil, nil, 0, err
		}
		begun = true
	}
	if len(data) > 0 && data[len(data)-1] != '\n' {
		if err := file.Add([]byte("\n")); err != nil {
			return nil, nil, 0, err
		}
	}
	if !begun {
		if err := file.Add(append(first, '\n')); err != nil {
			return nil, nil, 0, err
		}
		file.SyncName()
	}
	return &journal{file}, had, torn, nil
}

// readJournal reads what a journal holds. A line that is no JSON broke off; one
// that is, and does not follow, is not ours to explain.
func readJournal(name string, data []byte, plan journalHead) (had []answer, torn int, err error) {
	var head *journalHead
	n := 0
	for line := range bytes.SplitSeq(data, []byte("\n")) {
		n++
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		if !json.Valid(line) {
			if head == nil && !bytes.HasPrefix(line, []byte(`{"journal`[:min(len(line), 9)])) {
				return nil, 0, files.Fail(name, "is not a check-in journal; name a new file", nil)
			}
			torn++
			continue
		}
		if head == nil {
			head = new(journalHead)
			if err := json.Unmarshal(line, head); err != nil {
				head.Journal = ""
			}
			if problem := head.against(plan); problem != "" {
				return nil, 0, files.Fail(name, problem, nil)
			}
			continue
		}
		var c answer
		if err := json.Unmarshal(line, &c); err != nil || c.Answer != len(had)+1 {
			return nil, 0, files.Fail(name, fmt.Sprintf("line %d is not answer %d, which belongs there: lines were changed or lost; name another file", n, len(had)+1), nil)
		}
		had = append(had, c)
	}
	return had, torn, nil
}

// add writes an answer; when it returns, the answer is on the disk.
func (j *journal) add(a answer) error {
	if j.file == nil {
		return nil
	}
	line, err := json.Marshal(a)
	if err != nil {
		panic("journal: " + err.Error())
	}
	return j.file.Add(append(voice.PlainJSON(line), '\n'))
}

func (j *journal) close() {
	if j.file != nil {
		j.file.Close()
	}
}
