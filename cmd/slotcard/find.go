package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"slotcard/plan"
	"slotcard/plan/finding"
	"slotcard/plan/lookup"
	"slotcard/plan/radio"
	"slotcard/plan/tomlfile"
)

func (a *app) findCommand() *cobra.Command {
	var asJSON, all bool
	cmd := &cobra.Command{
		Use:   "find LOAD WHAT...",
		Short: "looks channels up by name, frequency, tone, group or site",
		Long: `find looks channels up in a load. WHAT is one or several of these; each one
more narrows down:
  QB CMD 1             a display name, or a part of one
  154.28               a frequency, receive or transmit, in MHz
  152.4125/157.6725    a pair, receive and transmit
  tone 5, 146.2, D023  a tone by number, in hertz, or a code
  group 3, 3-7         a group, or a group and a channel number
  Bellwether           a repeater site
  tactical, direct     a use, or what a channel is
The word edition by itself tells how to see whether a radio carries this load.

What fits stands first. Channels that are near follow, each with the reason:
within 12.5 kHz, a slip of a digit, a name that is close. Channels on one
receive frequency that are not the same are marked where they differ.

With - in place of WHAT it answers line by line what comes in on standard input,
such as from a keyboard scanner: one question a line, an empty line behind each
answer. A slot line from a card's QR code is a question, too.

Exit status: 0 something fits, 1 only near ones or nothing, 2 wrong usage or a
file that cannot be read. Line by line it is 0 at the end of the input.

--json prints one document, or line by line one for each question in one line:
  {"load": "load.toml", "query": "154.28",
   "edition": {"name": "...", "edition": "2027", "colour": "...", "effective":
               "2027-03-01", "expires": "2028-03-31", "shown_by": [CHANNEL]},
   "notes": ["..."], "exact": [CHANNEL], "near": [CHANNEL]}
"edition" stands where it was asked for. A CHANNEL is
  {"place": "2-01", "places": ["2-01"], "group": 2, "number": 1, "name": "...",
   "use": "...", "rx_hz": 0, "tx_hz": 0, "rx_tone": "-", "tx_tone": "156.7",
   "mode": "...", "width": "...", "repeated": false, "receive_only": false,
   "sites": [{"name": "...", "tone": "146.2", "tone_number": 5}], "system": "...",
   "talkgroup": "...", "remarks": "...", "why": "...", "differs": ["..."]}
where fields from "sites" on are left out when empty. "differs" says in what it
is not like others on its receive frequency: transmit, receive tone, transmit
tone, mode or width.`,
		Example: `  slotcard find load.toml 154.28
  slotcard find load.toml VFIRE tactical
  slotcard find load.toml edition
  slotcard find load.toml -`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return usagef("name the load and what to find, such as: slotcard find load.toml 154.28")
			case strings.TrimSpace(strings.Join(args[1:], " ")) == "":
				return usagef("say what to find: a name, a frequency, a tone, a site; such as: slotcard find %s 154.28", typed(args[0]))
			case slices.Contains(args[1:], stdinName) && len(args) > 2:
				return usagef("takes - alone; the questions come on standard input then")
			case args[0] == stdinName && args[1] == stdinName:
				return usagef("load and questions cannot both come on standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.runFind(cmd.Context(), args[0], strings.Join(args[1:], " "), findFlags{asJSON, all})
		},
		ValidArgsFunction: func(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return tomlArgs(cmd, args, word)
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON document and nothing else")
	cmd.Flags().BoolVar(&all, "all", false, "show all near channels, not only the likeliest")
	return cmd
}

// findFlags are the flags of find.
type findFlags struct{ json, all bool }

// mostNear is how many near channels are shown without --all: what the eye
// takes in at once.
const mostNear = 8

// fewNear is up to how many near channels sites, other places and remarks stand
// below each.
const fewNear = 2

func (a *app) runFind(ctx context.Context, name, query string, f findFlags) error {
	if name != stdinName {
		name = filepath.Clean(name)
	}
	l, err := a.load(name)
	if err != nil {
		return err
	}
	x := lookup.New(l)
	if query == stdinName {
		return a.answerLines(ctx, x, name, f)
	}
	answer := x.Find(query)
	if f.json {
		if err := a.voice.json(documentOf(name, l, answer)); err != nil {
			return err
		}
	} else {
		a.voice.answer(l, answer, f.all)
	}
	if !answer.Found() {
		return errFindings
	}
	return nil
}

// load reads a load to look channels up in. Faults in it are told, but do not
// keep from finding what could be read.
func (a *app) load(name string) (*plan.Load, error) {
	l, found, err := plan.ReadLoad(name, a.planOptions())
	if err != nil {
		var file *fileError
		if inside := filepath.Join(name, "load.toml"); errors.As(err, &file) && isFile(inside) {
			return nil, &fileError{name, "is a folder; name the load in it: " + typed(inside), err}
		}
		if file != nil {
			return nil, file
		}
		return nil, err
	}
	for _, f := range found {
		if isWrongFile(f) {
			problem := f.Message
			if data, err := a.reader.ReadFile(name); err == nil && name != stdinName {
				var p plan.Plan
				if tomlfile.Decode(name, data, &p); p.Load != "" {
					problem += "; its load is " + typed(filepath.Join(filepath.Dir(name), filepath.FromSlash(p.Load)))
				}
			}
			return nil, &fileError{name, problem, nil}
		}
	}
	if len(l.Channels()) == 0 {
		return nil, &fileError{name, "has no channels that could be read; to see why, type: slotcard check " + typed(name), nil}
	}
	if found.HasErrors() {
		a.voice.tell("slotcard: %s has %s: what is found may not be all; to see them, type: slotcard check %s", name, tally(found), typed(name))
	}
	return l, nil
}

func isWrongFile(f finding.Finding) bool { return f.Rule == plan.RuleWrongFile }

// answerLines answers question after question.
func (a *app) answerLines(ctx context.Context, x *lookup.Index, name string, f findFlags) error {
	type question struct {
		line string
		err  error
	}
	questions := make(chan question)
	go func() {
		defer close(questions)
		in := bufio.NewReaderSize(a.reader.stdin, 4096)
		for {
			// Of a line that is too long the rest is passed over.
			line, more, err := in.ReadLine()
			text := string(line)
			for more && err == nil {
				_, more, err = in.ReadLine()
			}
			if err != nil && err != io.EOF {
				questions <- question{err: err}
				return
			}
			if text = strings.TrimSpace(text); text != "" {
				select {
				case questions <- question{line: text}:
				case <-ctx.Done():
					return
				}
			}
			if err == io.EOF {
				return
			}
		}
	}()
	l := x.Load()
	for {
		select {
		case <-ctx.Done():
			return nil // asked to end: all answers are given
		case q, more := <-questions:
			switch {
			case !more:
				return nil
			case q.err != nil:
				return &fileError{stdinName, reason(q.err), q.err}
			}
			answer := x.Find(q.line)
			if f.json {
				line, err := json.Marshal(documentOf(name, l, answer))
				if err != nil {
					return err
				}
				fmt.Fprintf(a.voice.out, "%s\n", line)
			} else {
				a.voice.answer(l, answer, f.all)
				fmt.Fprintln(a.voice.out)
			}
			if err := a.voice.flush(); err != nil {
				return err
			}
		}
	}
}

// answer prints what was found, in columns that line up.
func (v *voice) answer(l *plan.Load, a lookup.Answer, all bool) {
	say := func(format string, args ...any) { fmt.Fprintln(v.out, printable(fmt.Sprintf(format, args...))) }
	if ed := a.Edition; ed != nil {
		about := ed.About
		say("%s, edition %s: %s label", about.Name, about.Edition, about.Colour)
		say("effective %s, expires %s", about.Effective, about.Expires)
		if len(ed.Marks) == 0 {
			say("no display name carries the edition: compare the label's colour with the book's cover")
			return
		}
		say("to see whether a radio is current, turn to this channel: its name carries the edition")
		v.hits(l, ed.Marks)
		return
	}
	for _, n := range a.Notes {
		say("%s", n)
	}
	near := a.Near
	if !all && len(near) > mostNear {
		near = near[:mostNear]
	}
	v.hits(l, a.Exact, near...)
	if len(a.Exact) == 0 && len(a.Near) == 0 {
		say("nothing like %q in the load", a.Query)
	}
	if n := len(a.Near) - len(near); n > 0 {
		say("and %s: --all shows them", count(n, "more near one", "more near ones"))
	}
}

// columns are the titles of what is said about a channel in its line.
var columns = []string{"place", "name", "receive", "transmit", "tones", "use", ""}

// differs marks a value in which a channel is not like another on its receive
// frequency.
const differs = "*"

func (v *voice) hits(l *plan.Load, exact []lookup.Hit, near ...lookup.Hit) {
	if len(exact)+len(near) == 0 {
		return
	}
	rows := [][]string{columns}
	for _, h := range slices.Concat(exact, near) {
		rows = append(rows, cellsOf(h))
	}
	width := make([]int, len(columns))
	for _, row := range rows {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	line := func(row []string, why string) {
		var b strings.Builder
		for i, cell := range row {
			if b.WriteString(cell); i < len(row)-1 || why != "" {
				b.WriteString(strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell)+2))
			}
		}
		fmt.Fprintln(v.out, printable(strings.TrimRight(b.String()+why, " ")))
	}
	block := func(hits []lookup.Hit, rows [][]string, further bool) {
		for i, h := range hits {
			why := h.Why
			if why != "" {
				why = "<- " + why
			}
			line(rows[i], why)
			if !further {
				continue
			}
			for _, more := range furtherOf(l, h) {
				fmt.Fprintln(v.out, fold(printable(more), strings.Repeat(" ", width[0]+2)))
			}
		}
	}
	if len(exact) == 0 {
		fmt.Fprintln(v.out, "nothing fits; near it:")
	}
	line(rows[0], "")
	block(exact, rows[1:], true)
	if len(exact) > 0 && len(near) > 0 {
		fmt.Fprintln(v.out, "near it:")
	}
	block(near, rows[1+len(exact):], len(near) <= fewNear)
	marked := func(h lookup.Hit) bool { return len(h.Differs) > 0 }
	if slices.ContainsFunc(exact, marked) || slices.ContainsFunc(near, marked) {
		fmt.Fprintf(v.out, "%s differs from another channel on this receive frequency: compare with the plan\n", differs)
	}
}

// cellsOf is a channel's line, by columns.
func cellsOf(h lookup.Hit) []string {
	c := h.Channel
	marked := func(text string, names ...string) string {
		for _, n := range names {
			if slices.Contains(h.Differs, n) {
				return text + differs
			}
		}
		return text
	}
	kind := "direct"
	switch {
	case c.Trunked():
		kind = "talkgroup"
	case c.ReceiveOnly:
		kind = "receive only"
	case c.Repeated():
		kind = "repeated"
	}
	if c.Mode != radio.Analog {
		kind += ", " + c.Mode.String()
	}
	if c.Width != radio.Narrow {
		kind += ", " + c.Width.String()
	}
	kind = marked(kind, lookup.ModeOrWidth)
	if c.Trunked() {
		return []string{c.Ref(), c.Name, "-", "-", "-", c.Use.String(), kind}
	}
	tones := c.RxTone.String() + "/" + c.TxTone.String()
	return []string{c.Ref(), c.Name, c.Rx.String(), marked(c.Tx.String(), lookup.Transmit),
		marked(tones, lookup.ReceiveTone, lookup.TransmitTone), c.Use.String(), kind}
}

// furtherOf is what else is to be said about a channel, in lines below its own.
func furtherOf(l *plan.Load, h lookup.Hit) (lines []string) {
	c := h.Channel
	if c.Trunked() {
		lines = append(lines, fmt.Sprintf("system %s, talkgroup %s", c.System, c.Talkgroup))
	}
	if len(h.Sites) > 0 {
		var sites []string
		for _, s := range h.Sites {
			sites = append(sites, fmt.Sprintf("%s %s", s.Name, toneOf(l, s.Squelch)))
		}
		lines = append(lines, "repeated by "+strings.Join(sites, ", "))
	} else if n := l.ToneNumber(c.TxTone); n != 0 && c.Repeated() {
		lines = append(lines, fmt.Sprintf("transmits tone %d", n))
	}
	var rest []string
	if len(h.Places) > 1 {
		var refs []string
		for _, p := range h.Places {
			if p != c {
				refs = append(refs, p.Ref())
			}
		}
		rest = append(rest, "also at "+strings.Join(refs, ", "))
	}
	if c.EditionMark {
		rest = append(rest, "its name carries the edition")
	}
	if c.Remarks != "" {
		rest = append(rest, c.Remarks)
	}
	if rest != nil {
		lines = append(lines, strings.Join(rest, "; "))
	}
	return lines
}

// toneOf is a tone with the agency's number for it.
func toneOf(l *plan.Load, s radio.Squelch) string {
	if n := l.ToneNumber(s); n != 0 {
		return fmt.Sprintf("tone %d (%s)", n, s)
	}
	return s.String()
}

// foundDocument is the JSON document of an answer. Field names stay.
type foundDocument struct {
	Load    string         `json:"load"`
	Query   string         `json:"query"`
	Edition *foundEdition  `json:"edition,omitempty"`
	Notes   []string       `json:"notes"`
	Exact   []foundChannel `json:"exact"`
	Near    []foundChannel `json:"near"`
}

type foundEdition struct {
	Name      string         `json:"name"`
	Edition   string         `json:"edition"`
	Colour    string         `json:"colour"`
	Effective string         `json:"effective"`
	Expires   string         `json:"expires"`
	ShownBy   []foundChannel `json:"shown_by"`
}

type foundChannel struct {
	Place       string      `json:"place"`
	Places      []string    `json:"places"`
	Group       int         `json:"group"`
	Number      int         `json:"number"`
	Name        string      `json:"name"`
	Use         string      `json:"use"`
	Rx          radio.Hertz `json:"rx_hz"`
	Tx          radio.Hertz `json:"tx_hz"`
	RxTone      string      `json:"rx_tone"`
	TxTone      string      `json:"tx_tone"`
	Mode        string      `json:"mode"`
	Width       string      `json:"width"`
	Repeated    bool        `json:"repeated"`
	ReceiveOnly bool        `json:"receive_only"`
	Sites       []foundSite `json:"sites,omitempty"`
	System      string      `json:"system,omitempty"`
	Talkgroup   string      `json:"talkgroup,omitempty"`
	Remarks     string      `json:"remarks,omitempty"`
	Why         string      `json:"why,omitempty"`
	Differs     []string    `json:"differs,omitempty"`
}

type foundSite struct {
	Name       string `json:"name"`
	Tone       string `json:"tone"`
	ToneNumber int    `json:"tone_number,omitempty"`
}

func documentOf(name string, l *plan.Load, a lookup.Answer) foundDocument {
	d := foundDocument{Load: name, Query: a.Query, Notes: append([]string{}, a.Notes...), Exact: channelsOf(l, a.Exact), Near: channelsOf(l, a.Near)}
	if ed := a.Edition; ed != nil {
		d.Edition = &foundEdition{Name: ed.About.Name, Edition: ed.About.Edition, Colour: ed.About.Colour,
			Effective: ed.About.Effective.String(), Expires: ed.About.Expires.String(), ShownBy: channelsOf(l, ed.Marks)}
	}
	return d
}

func channelsOf(l *plan.Load, hits []lookup.Hit) []foundChannel {
	out := make([]foundChannel, 0, len(hits))
	for _, h := range hits {
		c := h.Channel
		f := foundChannel{Place: c.Ref(), Group: c.Group.Number, Number: c.Number, Name: c.Name, Use: c.Use.String(),
			Rx: c.Rx, Tx: c.Tx, RxTone: c.RxTone.String(), TxTone: c.TxTone.String(), Mode: c.Mode.String(), Width: c.Width.String(),
			Repeated: c.Repeated(), ReceiveOnly: c.ReceiveOnly, System: c.System, Talkgroup: c.Talkgroup, Remarks: c.Remarks, Why: h.Why, Differs: h.Differs}
		for _, p := range h.Places {
			f.Places = append(f.Places, p.Ref())
		}
		for _, s := range h.Sites {
			f.Sites = append(f.Sites, foundSite{s.Name, s.Squelch.String(), l.ToneNumber(s.Squelch)})
		}
		out = append(out, f)
	}
	return out
}
