package sheet

import (
	"slices"
	"strings"
	"unicode"
)

// Title is what a cell outside of the table is about.
type Title uint8

// The titles of blocks 1 to 3, 5 and 6 of form ICS 205 (ics_forms.csv,
// secondary), with those inside of block 3 and of the line of signatures, and
// those that [Write] adds to them.
const (
	IncidentName Title = iota + 1
	IncidentNumber
	Period
	DateFrom
	DateTo
	TimeFrom
	TimeTo
	Prepared
	PreparedBy
	PersonName
	PersonPosition
	Signature
	Instructions
	Exercise
	Aircraft
	Division
	FunctionalGroup
	NotInList
)

// label is how a title is written. One that is strict needs a colon behind it
// wherever it stands: its word alone may be anything.
type label struct {
	is     Title
	text   string
	strict bool
}

// labels from the most special to the most general: the first that matches at a
// place is the one.
var labelList = []label{
	{IncidentNumber, `incident (?:number|no\.?|num\.?|#)|fire (?:number|no\.?|#)`, false},
	{IncidentName, `(?:incident|fire) name|name of incident`, false},
	{IncidentName, `incident|fire`, false},
	{DateFrom, `(?:start(?:ing)? )?date from|from date|start date`, false},
	{DateTo, `(?:end(?:ing)? )?date to|to date|end date`, false},
	{TimeFrom, `time from|from time|start time`, false},
	{TimeTo, `time to|to time|end time`, false},
	{Prepared, `(?:date(?: ?/ ?time)?|date and time|time) prepared|prepared(?: (?:on|at|date(?: ?/ ?time)?))?`, false},
	{Period, `(?:operational|op\.?|oper\.?|ops) period(?: \(?(?:date ?/ ?time|number|no\.?|#)\)?)?|(?:op|ops|operational) ?per\.?`, false},
	{PreparedBy, `prepared by(?: \([^()]*\))?|preparer`, false},
	{PersonPosition, `position ?/ ?title|position|title`, true},
	{PersonName, `name`, true},
	{Signature, `signature`, true},
	{Instructions, `(?:special )?instructions`, false},
	{Exercise, `exercise`, false},
	{Aircraft, `aircraft`, false},
	{Division, `division`, false},
	{FunctionalGroup, `functional group`, false},
	{NotInList, `not in the list`, false},
	{Prepared, `date ?/ ?time`, true}, // in the line of who prepared it
	{DateFrom, `from`, true},
	{DateTo, `to`, true},
}

// labelPatterns match a label at the start of a text, with a block's number
// before it, and behind it a colon or nothing.
var labelPatterns = func() (all []pattern) {
	for _, l := range labelList {
		end := `\s*(?:$|:\s*)`
		if l.strict {
			end = `\s*:\s*`
		}
		all = append(all, compiled(`(?i)^(?:\d{1,2}\s*[.)]\s*)?(?:`+l.text+`)`+end))
	}
	return all
}()

// furniture are words of the form that say nothing about the incident: its name,
// the titles of its blocks, page numbers.
var furniture = compiled(`(?i)^(?:` + strings.Join([]string{
	`(?:incident )?radio communications plan(?: ?\(?ics[ -]?205\)?)?`,
	`\(?ics[ -]?205a?\)?(?: (?:form|cg|wf|nfes \d+|\(?(?:rev|v)\.? ?[\d/.-]+\)?))*`,
	`(?:ics[ -]?205 ?[|·-]? ?)?iap page\s*[_\d]*(?: of [_\d]+)?`,
	`(?:ics[ -]?205 ?[|·-]? ?)?page\s*[_\d]*(?: ?(?:of|/) ?[_\d]+)?`,
	`(?:4\s*[.)]\s*)?basic radio channel use(?:\s*:)?`,
	`(?:\d\s*[.)]\s*)?(?:basic )?radio channel (?:use|utilization|assignments?)(?:\s*:)?`,
	`the convention calls for frequency lists to show four digits.*`,
	`_+`,
	`written by slotcard`, // see Write
}, "|") + `)$`)

// periodNumber is the number of a period right behind its title, without a colon.
var periodNumber = compiled(`(?i)^(?:\d{1,2}\s*[.)]\s*)?(?:operational|op\.?|ops) period\s+#?(\d{1,3})(?:\s|$|,|:)`)

// labelAt is the label that a text begins with, and how long it is.
func labelAt(text string, start bool) (is Title, length int) {
	if !labelStart(text) {
		return 0, 0
	}
	if m := periodNumber().FindStringSubmatchIndex(text); m != nil && start {
		return Period, m[2]
	}
	for i, p := range labelPatterns {
		m := p().FindStringIndex(text)
		if m == nil {
			continue
		}
		said := text[:m[1]]
		if !start && !strings.Contains(said, ":") {
			continue
		}
		if l := labelList[i]; l.strict && (l.is == DateFrom || l.is == DateTo) && isSender(text[m[1]:]) {
			continue
		}
		return labelList[i].is, m[1]
	}
	return 0, 0
}

// isSender tells the From and To of a message from those of a period: behind them
// stands text without a number, or an address.
func isSender(rest string) bool {
	return rest != "" && (strings.IndexFunc(rest, unicode.IsDigit) < 0 || strings.Contains(rest, "@"))
}

// labelStarts are the first words of labels: to look at them first is cheap.
var labelStarts = map[string]bool{"incident": true, "fire": true, "name": true, "start": true, "starting": true, "date": true, "from": true, "end": true,
	"ending": true, "to": true, "time": true, "prepared": true, "preparer": true, "operational": true, "op": true, "oper": true, "ops": true,
	"position": true, "title": true, "signature": true, "special": true, "instructions": true, "exercise": true, "aircraft": true, "division": true,
	"functional": true, "not": true}

func labelStart(text string) bool {
	text = strings.TrimLeft(text, "0123456789.) ")
	end := strings.IndexFunc(text, func(r rune) bool { return !unicode.IsLetter(r) })
	if end < 0 {
		end = len(text)
	}
	return end < 16 && labelStarts[strings.ToLower(text[:end])]
}

// part is a label in a cell, with the text behind it.
type part struct {
	is    Title
	value string
}

// labelsOf takes a cell apart at the labels in it. What stands before the first
// one is returned in before.
func labelsOf(text string) (parts []part, before string) {
	if len(text) > 4000 {
		return nil, text
	}
	at := 0
	for i := 0; i < len(text); {
		wordStart := i == 0 || text[i-1] == ' ' || text[i-1] == '(' || text[i-1] == ';' || text[i-1] == ',' || text[i-1] == '|'
		if wordStart {
			if is, n := labelAt(text[i:], i == 0); n > 0 && !(is == DateTo && len(parts) > 0 && parts[len(parts)-1].is == Instructions) {
				said := strings.Trim(text[at:i], " ;,|(")
				if len(parts) > 0 {
					parts[len(parts)-1].value = said
				} else {
					before = said
				}
				parts = append(parts, part{is: is})
				if is == Instructions { // what follows is theirs
					parts[len(parts)-1].value = strings.TrimSpace(text[i+n:])
					return parts, before
				}
				i, at = i+n, i+n
				continue
			}
		}
		i++
	}
	if len(parts) == 0 {
		return nil, text
	}
	parts[len(parts)-1].value = strings.Trim(text[at:], " ;,|")
	return parts, before
}

// headReader gathers what stands around the table.
type headReader struct {
	*reader
	heads   []*Head
	open    []*Head // labels without a value in the last line, to look below for
	openAt  []int
	running *Head // instructions that go on
}

// readHeads reads all rows that are no channels and no titles.
func (r *reader) readHeads() {
	h := &headReader{reader: r}
	titled := map[int]bool{}
	for _, t := range r.tables {
		for i := t.first; i <= t.last; i++ {
			titled[i] = true
		}
	}
	for i, cells := range r.rows {
		switch {
		case titled[i]:
			h.titlesToo(i, cells)
			h.open, h.openAt, h.running = nil, nil, nil
		case numbersColumns(cells):
		case r.rowOf[i]:
			h.beside(i, cells)
			h.open, h.openAt, h.running = nil, nil, nil
		default:
			h.line(i, cells)
		}
	}
	for _, head := range h.heads {
		r.out.Heads = append(r.out.Heads, *head)
	}
	slices.SortStableFunc(r.out.NotRead, func(a, b Cell) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
}

func (h *headReader) cell(i, k int, text string) Cell {
	c := Cell{Text: text}
	c.Line, c.Column = h.place(i, k)
	return c
}

// titlesToo shows the cells in lines of titles that are the title of nothing.
func (h *headReader) titlesToo(i int, cells []string) {
	for k, text := range cells {
		if text == "" || furniture().MatchString(text) {
			continue
		}
		used := false
		for _, t := range h.tables {
			used = used || i >= t.first && i <= t.last && k >= t.from && k < t.to && k < len(t.columns) && t.columns[k].what != none
		}
		if _, isTitle := titleOf(wordsOf(text), false); !used && !isTitle {
			h.out.NotRead = append(h.out.NotRead, h.cell(i, k, text))
		}
	}
}

// beside shows the cells of a channel's line that stand outside of its table.
func (h *headReader) beside(i int, cells []string) {
	line := h.grid.line(i)
	used := map[[2]int]bool{}
	for _, row := range h.out.Rows {
		if row.Line == line && row.byLine {
			return
		}
		if row.Line == line {
			for _, c := range row.Cells {
				used[[2]int{c.Line, c.Column}] = true
			}
		}
	}
	if len(used) == 0 { // a function above its channels
		return
	}
	for k, text := range cells {
		at, column := h.place(i, k)
		if text != "" && !used[[2]int{at, column}] {
			h.out.NotRead = append(h.out.NotRead, h.cell(i, k, text))
		}
	}
}

// line reads one line around the table.
func (h *headReader) line(i int, cells []string) {
	var found []*Head
	var at []int
	var loose []int // cells that belong to no label of this line
	above := len(h.tables) == 0 || i < h.tables[0].first
	for k, text := range cells {
		if text == "" {
			continue
		}
		if furniture().MatchString(text) {
			continue
		}
		parts, before := labelsOf(text)
		// A single word is a label only where a line begins with it, or with a colon.
		if len(parts) == 1 && parts[0].value == "" && !strings.ContainsAny(text, " :") && (len(found) > 0 || len(loose) > 0) {
			parts, before = nil, text
		}
		if before != "" {
			if len(found) > 0 {
				last := found[len(found)-1]
				last.add(before, h.cell(i, k, text))
			} else {
				loose = append(loose, k)
			}
		}
		for _, p := range parts {
			head := &Head{Line: h.grid.line(i), Is: p.is}
			if p.value != "" {
				head.add(p.value, h.cell(i, k, text))
			}
			found, at = append(found, head), append(at, k)
		}
	}
	filled := len(loose) > 0 || len(found) > 0
	if !filled {
		return
	}
	// On the form a value stands below its title.
	var still []int
	for _, k := range loose {
		below := slices.Index(h.openAt, k)
		switch {
		case below >= 0 && len(found) == 0 && len(h.open[below].Values) == 0:
			h.open[below].add(cells[k], h.cell(i, k, cells[k]))
		case h.running != nil && len(found) == 0:
			h.running.add(cells[k], h.cell(i, k, cells[k]))
		default:
			still = append(still, k)
		}
	}
	for _, k := range still {
		h.out.NotRead = append(h.out.NotRead, h.cell(i, k, cells[k]))
	}
	if len(found) == 0 {
		if len(still) > 0 {
			h.open, h.openAt = nil, nil
		}
		return
	}
	_ = above
	h.open, h.openAt, h.running = nil, nil, nil
	for n, head := range found {
		h.heads = append(h.heads, head)
		if len(head.Values) == 0 {
			h.open, h.openAt = append(h.open, head), append(h.openAt, at[n])
		}
		if head.Is == Instructions {
			h.running = head
		}
	}
}

// add puts a value behind a title.
func (h *Head) add(value string, cell Cell) {
	h.Values = append(h.Values, value)
	h.cells = append(h.cells, cell)
}
