package sheet

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/radio"
)

// written is the first line of what [Write] writes.
var written = []string{"Incident Radio Communications Plan", "written by slotcard"}

// bom is a byte order mark in UTF-8.
const bom = "\uFEFF"

// IsWritten tells whether a file that begins with these bytes was written by
// [Write]. What somebody has
// changed and saved with the line kept counts as such.
func IsWritten(start []byte) bool {
	return strings.HasPrefix(strings.TrimPrefix(string(start), bom), strings.Join(written, ",")+"\r\n")
}

// Write writes the list of a plan as a plan sheet: the incident's lines, the titles of
// block 4 of form ICS 205, a row for each slot in order, and what is beside the list. It is
// CSV as RFC 4180 has it, in UTF-8, with a byte order mark where a text is not all ASCII,
// so that spreadsheets read it right; a text that they would compute is marked as text.
//
// [Sheet.Draft] with the same load makes the same lists of it, with the same
// read-back codes.
func Write(w io.Writer, r *plan.Resolved) error {
	var b strings.Builder
	c := csv.NewWriter(&b)
	c.UseCRLF = true
	put := func(row ...string) {
		texts := make([]string, len(row))
		for i := range row {
			texts[i] = cells.AsText(row[i])
		}
		c.Write(texts) //nolint:errcheck // a Builder takes all, the last error comes out below
	}

	in := r.Plan.Incident
	put(written...)
	put("Incident Name", in.Name)
	if in.Number != "" {
		put("Incident Number", in.Number)
	}
	put("Operational Period", strconv.Itoa(in.Period), "from", stamp(in.From), "to", stamp(in.To))
	put("Date/Time Prepared", stamp(in.PreparedAt))
	put("Prepared By", in.PreparedBy)
	put("Exercise", yesNo(in.Exercise))
	put("Aircraft", yesNo(in.Aircraft))
	for _, d := range r.Plan.Divisions {
		row := []string{"Division", d.ID}
		if d.Functional {
			row[0] = "Functional group"
		}
		if d.Name != "" {
			row = append(row, d.Name)
		}
		if d.Supervisor != "" {
			row = append(row, "supervisor "+d.Supervisor)
		}
		if len(d.Beside) > 0 {
			row = append(row, "beside "+strings.Join(d.Beside, ", "))
		}
		put(row...)
	}
	put("")
	put(titles...)
	for _, s := range r.Slots {
		put(slotRow(r, s)...)
	}
	if len(r.Also) > 0 {
		put("")
	}
	for _, a := range r.Also {
		row := []string{"Not in the list", a.Channel.Name, r.Fill(a.When, nil, nil, nil)}
		switch {
		case a.Site != "":
			row = append(row, "repeated by "+a.Site)
		case a.Tone != nil:
			row = append(row, "tone "+strconv.Itoa(*a.Tone))
		}
		put(row...)
	}
	if said := strings.TrimSpace(r.Fill(in.Instructions, nil, nil, nil)); said != "" {
		put("")
		put("Special Instructions", said)
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return err
	}
	text := b.String()
	if strings.IndexFunc(text, func(r rune) bool { return r > '~' }) >= 0 {
		text = bom + text
	}
	_, err := io.WriteString(w, text)
	return err
}

// stamp is a moment with its UTC offset, which the form does not have room for
// but a plan needs.
func stamp(t time.Time) string { return t.Format("2006-01-02 15:04:05 -07:00") }

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// slotRow is a slot in the columns of block 4.
func slotRow(r *plan.Resolved, s *plan.ResolvedSlot) []string {
	ch := s.Channel
	place := ch
	for _, l := range r.Lists {
		for i, other := range l.Slots {
			if other == s {
				place = l.Place(i)
			}
		}
	}
	mode := [...]string{"A", "D", "M"}[ch.Mode]
	row := []string{strconv.Itoa(place.Group.Number), strconv.Itoa(place.Number), capital(s.Use.String()), ch.Name, assignmentOf(s)}
	var remarks []string
	if ch.Trunked() {
		row = append(row, ch.System, "", "", "", mode)
		remarks = append(remarks, "talkgroup "+ch.Talkgroup)
	} else {
		letter := [...]string{" N", " W"}[ch.Width]
		row = append(row, ch.Rx.String()+letter, csq(ch.RxTone), ch.Tx.String()+letter, csq(s.TxTone), mode)
		switch {
		case s.Repeater != nil:
			remarks = append(remarks, "repeated by "+s.Repeater.Name)
		case ch.Repeated():
			remarks = append(remarks, "repeated")
		default:
			remarks = append(remarks, "direct")
		}
		if s.ToneNumber != 0 {
			remarks = append(remarks, fmt.Sprintf("tone %d", s.ToneNumber))
		}
	}
	if ch.Remarks != "" {
		remarks = append(remarks, plan.Unbraced(ch.Remarks))
	}
	if len(s.Carriers) > 0 {
		var ids []string
		for _, d := range s.Carriers {
			ids = append(ids, d.ID)
		}
		remarks = append(remarks, onlyInText+strings.Join(ids, ", "))
	}
	return append(row, strings.Join(remarks, "; "))
}

// csq is a tone as plan sheets print it (NIFOG): CSQ where there is none.
func csq(s radio.Squelch) string {
	if s.IsZero() {
		return "CSQ"
	}
	return s.String()
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// assignmentOf names the divisions of a slot.
func assignmentOf(s *plan.ResolvedSlot) string {
	named := plan.EnglishLists.Phrases(s.Users, plan.WithCommas)
	for i, phrase := range named {
		named[i] = capital(phrase)
	}
	return strings.Join(named, "; ")
}
