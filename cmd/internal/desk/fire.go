package desk

import (
	"bytes"
	"path/filepath"
	"strings"
)

func init() {
	register(&View{Name: "fire", Title: "Fire", Place: 30, Kinds: []string{"plan"}, Last: true, Data: fireData})
}

// Ring is the divisions around the fire, drawn as fire.pdf has them, and in words.
type Ring struct {
	Drawing Drawing
	Lines   bool // with what disturbs what
	Text    string
	Not     string
}

func fireData(p *Page) (any, error) {
	g, err := p.good()
	if err != nil {
		return nil, err
	}
	v := &Ring{Lines: p.Ask("lines") != ""}
	form := "ring"
	if v.Lines {
		form = "lines"
	}
	m, err := g.make(p.Ctx(), map[string]string{"fire": form}, false)
	switch {
	case err != nil:
		v.Not = whyNot(err).Error()
	case len(m.job.Sheets) == 0 || m.job.Sheets[0].Doc == nil:
		v.Not = "the plan has no divisions"
	default:
		doc := m.job.Sheets[0].Doc
		if v.Drawing, err = draw(&doc.Pages[0], "the divisions around the fire; the same in words below", doc.Language); err != nil {
			return nil, err
		}
	}
	if !p.State.Broken() { // the command reads the file as it is now
		var out, said bytes.Buffer
		p.desk.Run(p.Ctx(), p.desk.Folder, []string{"fire", filepath.FromSlash(p.File)}, strings.NewReader(""), &out, &said)
		v.Text = strings.TrimSpace(out.String())
	}
	return v, nil
}
