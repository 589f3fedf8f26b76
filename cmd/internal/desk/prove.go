package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/report"
	"slotcard/layout"
)

func init() {
	register(&View{Name: "prove", Title: "Prove it", Place: 60, Kinds: []string{"plan"}, Data: proveData,
		Do: map[string]func(*Page) (string, error){"list": proveList, "code": proveCode}})
}

// Proof is what came of a photograph, a list or a code, as verify and code answer.
type Proof struct {
	Kind    string // "list" or "code"
	Same    bool
	Head    string // the answer in one line
	Lists   []ProvenList
	Said    []string
	Problem string
}

// ProvenList is a list that was read, beside the plan's.
type ProvenList struct {
	Same        bool
	Head        string
	Differences []string
	Card        *Drawing // of the list that it was compared with, with what differs marked
	Whose       string
}

// Prove is the page, with the last answer.
type Prove struct{ Proof *Proof }

func proveData(p *Page) (any, error) {
	v := &Prove{}
	if r := p.desk.proofs.get(p.Ask("proof")); r != nil {
		v.Proof = r
	}
	return v, nil
}

// verified is the part of the document of verify that is shown.
type verified struct {
	Files []report.VerifiedFile `json:"files"`
	Lists []struct {
		Result  string           `json:"result"`
		Code    string           `json:"code"`
		Problem string           `json:"problem"`
		Copies  int              `json:"copies"`
		With    *report.PlanList `json:"compared_with"`
		Head    []struct {
			Field string `json:"field"`
			Card  string `json:"card"`
			Plan  string `json:"plan"`
		} `json:"head"`
		Differences []struct {
			Slot    int    `json:"slot"`
			To      int    `json:"to"`
			Message string `json:"message"`
		} `json:"differences"`
	} `json:"lists"`
	Findings []json.RawMessage `json:"findings"`
	Same     bool              `json:"same"`
}

// proveList verifies a photograph, a printed PDF, or the text of a list.
func proveList(p *Page) (string, error) {
	data, err := uploaded(p.Request)
	if err != nil {
		return "", err
	}
	if data == nil {
		data = []byte(strings.TrimSpace(strings.ReplaceAll(p.Ask("text"), "\r\n", "\n")))
	}
	if len(data) == 0 {
		return "", errors.New("choose a photograph, or paste the text of a list")
	}
	if string(data[:min(len(data), 5)]) != "SLOTS" && data[0] < 0x80 && data[0] != '%' {
		data = append(data, '\n')
	}
	var doc verified
	if err := p.desk.answer(p, []string{"verify", filepath.FromSlash(p.File), "-", "--json"}, data, &doc); err != nil {
		return "", err
	}
	proof := &Proof{Kind: "list", Same: doc.Same}
	switch {
	case len(doc.Findings) > 0:
		proof.Problem = errRefused.Error()
	case len(doc.Lists) == 0:
		proof.Problem = "no code was read in it: hold the camera closer, level and still, without glare"
		for _, f := range doc.Files {
			if f.Problem != "" {
				proof.Problem = f.Problem
			}
		}
	}
	for _, l := range doc.Lists {
		x := ProvenList{Same: l.Result == "same", Head: map[string]string{
			"same": "The same list as the plan’s", "same-list": "The same slots, but the head is another", "differs": "Not the plan’s list", "damaged": "Damaged: it cannot be trusted",
		}[l.Result]}
		if l.Problem != "" {
			x.Differences = append(x.Differences, l.Problem)
		}
		for _, h := range l.Head {
			x.Differences = append(x.Differences, fmt.Sprintf("%s: the card says %s, the plan %s", h.Field, h.Card, h.Plan))
		}
		var slots []int
		for _, d := range l.Differences {
			x.Differences = append(x.Differences, d.Message)
			slots = append(slots, d.Slot, d.To)
		}
		if l.With != nil {
			x.Card, x.Whose = p.cardWith(string(l.With.Code), slots)
		}
		proof.Lists = append(proof.Lists, x)
	}
	return p.At("prove", "proof", p.desk.proofs.keep(proof)), nil
}

// uploaded is the file of a form; nil where none was chosen.
func uploaded(r *http.Request) ([]byte, error) {
	if r.MultipartForm == nil {
		return nil, nil
	}
	f, _, err := r.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxBody))
	if len(data) == 0 {
		return nil, err
	}
	return data, err
}

// cardWith is a card with a list, in which slots are marked.
func (p *Page) cardWith(code string, slots []int) (*Drawing, string) {
	g, err := p.good()
	if err != nil {
		return nil, ""
	}
	m, err := g.make(p.Ctx(), nil, true)
	if err != nil {
		return nil, ""
	}
	for _, f := range m.deck.Faces {
		if string(f.Card.List.Code) != code {
			continue
		}
		d, err := drawPanel(f.Front, "front of the card of "+f.Card.Unit.Name+", "+seat(f.Card), m.job.Language())
		if err != nil {
			return nil, ""
		}
		for _, a := range f.Front.Areas {
			if a.Slot > 0 && slices.Contains(slots, a.Slot) {
				d = d.marked(a)
			}
		}
		return &d, f.Card.Unit.Name + ", " + seat(f.Card)
	}
	return nil, ""
}

// marked is a drawing in which the area of a slot is marked.
func (d Drawing) marked(a layout.Area) Drawing {
	return d.hit(`data-slot="` + strconv.Itoa(a.Slot) + `"`)
}

// proveCode tells whether a read-back code is the plan's.
func proveCode(p *Page) (string, error) {
	code := strings.TrimSpace(p.Ask("code"))
	if code == "" {
		return "", errors.New("type the code that was read back, such as 7K 4Q, or its words")
	}
	if strings.HasPrefix(code, "-") {
		return "", errors.New("a code is four letters and digits, or the words for them")
	}
	type found struct {
		Code      string `json:"code"`
		Words     string `json:"words"`
		Of        string `json:"of"`
		Character int    `json:"character"`
		There     string `json:"there"`
		Here      string `json:"here"`
	}
	var doc struct {
		Code  string  `json:"code"`
		Words string  `json:"words"`
		Found bool    `json:"found"`
		Lists []found `json:"lists"`
		Near  []found `json:"near"`
	}
	if err := p.desk.answer(p, []string{"code", code, filepath.FromSlash(p.File), "--json"}, nil, &doc); err != nil {
		return "", err
	}
	proof := &Proof{Kind: "code", Same: doc.Found, Head: pairs(doc.Code) + " is not a code of this plan"}
	if doc.Found {
		proof.Head = pairs(doc.Code) + " is this plan’s code"
	}
	proof.Said = append(proof.Said, doc.Words)
	for _, l := range doc.Lists {
		if l.Of != "" {
			proof.Said = append(proof.Said, "list of "+l.Of)
		}
	}
	for _, n := range doc.Near {
		proof.Said = append(proof.Said, fmt.Sprintf("one character from %s: ask for the code again before you look further", pairs(n.Code)))
	}
	return p.At("prove", "proof", p.desk.proofs.keep(proof)), nil
}

// pairs is a code as cards show it.
func pairs(code string) string {
	if len(code) != 4 {
		return code
	}
	return code[:2] + " " + code[2:]
}
