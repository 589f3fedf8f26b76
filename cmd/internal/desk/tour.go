package desk

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"strings"
	"time"

	"slotcard/layout"
	"slotcard/layout/sheets"
	"slotcard/layout/words"
	"slotcard/render"
)

// tourSteps are the views in which each of the ten steps of the job is done.
var tourSteps = [10][]string{
	{"load", "book"}, {"newfire", "draft", "incident"}, {"list"}, {"list"}, {"list", "divisions"},
	{"roster", "listen"}, {"findings", "print"}, {"cards"}, {"prove", "checkin"}, {"next", "revise"},
}

// tour is the page of paper for somebody who is here for the first time. It calls the
// views as the page does.
func tour(p *Page, w http.ResponseWriter) error {
	paper, ok := layout.PaperSize(cmp.Or(p.Ask("paper"), layout.DefaultPaper))
	if !ok {
		return fmt.Errorf("there is no paper %q", p.Ask("paper"))
	}
	said, ok := words.Speak(cmp.Or(p.Ask("language"), "en"))
	if !ok {
		return fmt.Errorf("there is no language %q", p.Ask("language"))
	}
	o := sheets.TourOptions{Paper: paper, Words: &said.Tour}
	for i, names := range tourSteps {
		var titles []string
		for _, n := range names {
			titles = append(titles, registered[n].Title)
		}
		o.Where[i] = strings.Join(titles, ", ")
	}
	var b bytes.Buffer
	if err := render.PDF(&b, sheets.Tour(o), time.Now()); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	_, err := w.Write(b.Bytes())
	return err
}
