// Package checkin is the check-in table: lists come in one after the other, each is
// answered with one line, and at the end it is said who has not been seen. Start
// with [Run].
package checkin

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/compare"
	"slotcard/plan/numbers"
	"slotcard/plan/slotlist"
)

// session is a check-in: who has shown which list.
type session struct {
	voice   *voice.Voice
	plan    *plan.Resolved
	lists   *compare.Lists
	table   Table
	journal *journal
	answers int
	seen    map[int]answer // by the number of the card, the last answer
	loose   []answer       // lists without a card's number

	next *plan.Card // whose list comes next
	text []string   // lines of the list that is coming in
}

// Table is what the check-in goes by.
type Table struct {
	Plan   *plan.Resolved // its cards are numbered as Held has it
	Held   []numbers.Held // numbers with their seats: those of the plan, and some that are gone
	Others []Others       // of other plans for the incident
}

// Others are numbers that were given out with another plan.
type Others struct {
	File string
	Held []numbers.Held
}

// Run answers what comes in until the input ends, somebody says done, or ctx ends:
// the table is packed up, and who is missing is said all the same. journalName may
// be "": nothing is kept. It tells whether every list was the plan's.
func Run(ctx context.Context, v *voice.Voice, in io.Reader, t Table, journalName string) (allSame bool, err error) {
	r := t.Plan
	s := &session{voice: v, plan: r, lists: compare.Of(r), table: t, journal: &journal{}, seen: map[int]answer{}}
	if journalName != "" {
		if err := s.takeUp(journalName); err != nil {
			return false, err
		}
		defer s.journal.close()
	}
	about := r.Plan.Incident
	v.Tell("%s, %s, %s, %s: type card and its number, then scan its list; who: who is missing; done: the end",
		about.Name, report.Issue(about), listsOf(r), voice.Count(len(r.Cards), "card", "cards"))

	lines, fault := readLines(in)
	for open := true; open; {
		var line string
		select {
		case line, open = <-lines:
			if !open {
				break
			}
			if open, err = s.line(line); err != nil {
				return false, err
			}
		case <-ctx.Done():
			open = false
		}
	}
	if err := s.brokeOff(); err != nil {
		return false, err
	}
	s.summary(true)
	if err := v.Flush(); err != nil {
		return false, err
	}
	if err := fault(); err != nil {
		return false, files.Fail(files.Stdin, voice.Reason(err), err)
	}
	return s.allSame(), nil
}

// takeUp opens the journal and counts the answers that it has.
func (s *session) takeUp(name string) error {
	j, had, torn, err := openJournal(name, headOf(s.plan))
	if err != nil {
		return err
	}
	s.journal = j
	for _, a := range had {
		s.take(a)
	}
	if torn > 0 {
		s.voice.Tell("%s: %s cut off before any answer: set aside; scan again what you saw no answer for", voice.Name(name), voice.Count(torn, "line", "lines"))
	}
	if len(had) > 0 {
		s.voice.Tell("%s: continued with %s", voice.Name(name), voice.Count(len(had), "answer", "answers"))
	}
	return nil
}

func listsOf(r *plan.Resolved) string {
	var codes []slotlist.Code
	for _, l := range r.Lists {
		codes = append(codes, l.Code)
	}
	if len(codes) == 1 {
		return "list " + pairsOf(codes)
	}
	return "lists " + pairsOf(codes)
}

// maxLine is the most characters of a line of input: a line of a list has a
// hundred at most. maxLines is the most lines of a list.
const (
	maxLine  = 4096
	maxLines = 250
)

// readLines reads lines that end with LF, CR or both, as keyboard scanners
// write them. fault is why reading ended, where that was not the end of input;
// call it when lines are closed.
func readLines(r io.Reader) (lines <-chan string, fault func() error) {
	out := make(chan string)
	var err error
	done := make(chan struct{})
	go func() {
		defer close(out)
		defer close(done)
		in := bufio.NewReader(r)
		var line []byte
		for {
			c, e := in.ReadByte()
			if e != nil {
				if len(line) > 0 {
					out <- string(line)
				}
				if e != io.EOF {
					err = e
				}
				return
			}
			switch {
			case c == '\n' || c == '\r':
				out <- string(line)
				line = line[:0]
			case len(line) < maxLine:
				line = append(line, c)
			}
		}
	}()
	return out, func() error {
		select {
		case <-done:
			return err
		default:
			return nil // interrupted
		}
	}
}

// line takes a line of input; it is not more where the check-in is over.
func (s *session) line(line string) (more bool, err error) {
	line = strings.Trim(line, " \t\x00")
	word, rest, _ := strings.Cut(line, " ")
	number, holder, isCard := cardNumber(line)
	switch word = strings.ToLower(word); {
	case line == "": // a scanner may end a line twice
		return true, nil
	case isCard && (len(s.text) == 0 || word == "card"):
		if err := s.brokeOff(); err != nil {
			return false, err
		}
		s.card(number, holder)
	case word == "who" && rest == "":
		if err := s.brokeOff(); err != nil {
			return false, err
		}
		s.summary(false)
	case (word == "done" || word == "end" || word == "quit") && rest == "":
		return false, nil
	case word == "card":
		s.voice.Tell("type the number on the card after the word card: card 12")
	case strings.HasPrefix(line, "SLOTS") || len(s.text) > 0 || likeList(line):
		if strings.HasPrefix(line, "SLOTS") {
			if err := s.brokeOff(); err != nil {
				return false, err
			}
		}
		s.text = append(s.text, line)
		if strings.HasPrefix(line, "=") || len(s.text) > maxLines {
			return true, s.compare()
		}
	default:
		s.voice.Tell("not understood: %.60q; scan a list, or type card and its number, who, done", line)
	}
	return true, s.voice.Flush()
}

// likeList tells a line that can only be of a list whose begin was lost.
func likeList(line string) bool {
	n, _, ok := strings.Cut(line, " ")
	_, err := strconv.Atoi(n)
	return ok && err == nil || strings.HasPrefix(line, "=") || strings.Contains(line, " LOAD ")
}

// cardNumber reads "card 12", or 12 alone, and "card 12 Engine 611", where the number
// does not tell whose card it is.
func cardNumber(line string) (n int, holder string, ok bool) {
	word, rest, _ := strings.Cut(line, " ")
	isCard := strings.EqualFold(word, "card")
	if isCard {
		word, rest, _ = strings.Cut(strings.TrimSpace(rest), " ")
	}
	rest = strings.Join(strings.Fields(rest), " ")
	if rest != "" && !isCard {
		return 0, "", false
	}
	n, err := strconv.Atoi(strings.TrimPrefix(word, "#"))
	return n, rest, err == nil
}

// claim is a seat that has a number, or had it.
type claim struct {
	numbers.Held
	file string     // that says so; "": the plan
	card *plan.Card // of the plan; nil: the seat is not in it
}

// claims are all seats that a number was given to, that of the plan first.
func (s *session) claims(n int) (all []claim) {
	cards := map[string]*plan.Card{} // by seat
	for _, c := range s.plan.Cards {
		cards[c.Unit.Name+", "+numbers.Seat(c)] = c
	}
	add := func(held []numbers.Held, file string) {
		for _, h := range held {
			if h.Number == n && !slices.ContainsFunc(all, func(c claim) bool { return c.Same(h) }) {
				all = append(all, claim{h, file, cards[h.Name()]})
			}
		}
	}
	add(s.table.Held, "")
	for _, o := range s.table.Others {
		add(o.Held, o.File)
	}
	return all
}

// card says whose list comes next. A number that two seats had is of neither until
// somebody says which: else a card would answer for somebody else.
func (s *session) card(n int, holder string) {
	s.next = nil
	all := s.claims(n)
	if holder != "" {
		all = slices.DeleteFunc(all, func(c claim) bool {
			return !strings.EqualFold(c.Unit, holder) && !strings.EqualFold(c.Name(), holder)
		})
	}
	switch {
	case len(all) == 0 && holder != "":
		s.voice.Tell("no card %d of %.60q; the next list counts for nobody", n, holder)
		return
	case len(all) == 0:
		s.voice.Tell("no card %d: the plan has %s; the next list counts for nobody", n, s.deck())
		return
	case len(all) > 1:
		s.voice.Tell("card %d was given to %s: the next list counts for nobody; type what stands on the card, such as: card %d %s",
			n, saidClaims(all), n, s.tellApart(all))
		return
	case all[0].card == nil:
		s.voice.Tell("card %d is %s, a seat that this plan does not have; the next list counts for nobody", n, all[0].Name())
		return
	}
	s.next = all[0].card
	again := ""
	if _, ok := s.seen[s.next.Number]; ok {
		again = ", seen before"
	}
	if s.next.Number != n {
		again += fmt.Sprintf(", whose number is %d in this plan", s.next.Number)
	}
	s.voice.Tell("card %d: %s%s; scan its list", n, who(s.next), again)
}

// deck is how many cards there are, and how they are numbered.
func (s *session) deck() string {
	cards := voice.Count(len(s.plan.Cards), "card", "cards")
	if len(s.plan.Cards) == 0 {
		return cards
	}
	all := s.numbers()
	if all[len(all)-1] == len(all) {
		return cards
	}
	return cards + ", " + runs(all)
}

// numbers are those of all cards, ascending.
func (s *session) numbers() (all []int) {
	for _, c := range s.plan.Cards {
		all = append(all, c.Number)
	}
	slices.Sort(all)
	return all
}

// saidClaims names the seats that a number was given to.
func saidClaims(all []claim) string {
	var said []string
	for _, c := range all {
		name := c.Name()
		if c.file != "" {
			name += " (by " + voice.Name(c.file) + ")"
		}
		said = append(said, name)
	}
	return voice.Join(said, "and to")
}

// tellApart is what to type for the first of several seats with one number.
func (s *session) tellApart(all []claim) string {
	for _, c := range all[1:] {
		if strings.EqualFold(c.Unit, all[0].Unit) {
			return all[0].Name()
		}
	}
	return all[0].Unit
}

// runs says ascending numbers, three or more in a row by their ends: "5, 9 to 12".
func runs(all []int) string {
	var parts []string
	for i := 0; i < len(all); {
		k := i
		for k+1 < len(all) && all[k+1] == all[k]+1 {
			k++
		}
		if k-i < 2 {
			k = i
			parts = append(parts, strconv.Itoa(all[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d to %d", all[i], all[k]))
		}
		i = k + 1
	}
	return "card " + strings.Join(parts, ", ")
}

// who is a seat in words.
func who(c *plan.Card) string {
	seat := c.Position.Name
	if c.Of > 1 {
		seat += fmt.Sprintf(" %d of %d", c.Nth, c.Of)
	}
	return c.Unit.Name + ", " + seat
}

// brokeOff answers a list that began and did not end.
func (s *session) brokeOff() error {
	if len(s.text) == 0 {
		return nil
	}
	return s.compare()
}

// compare compares the list that has come in, keeps the answer, and only then
// shows it.
func (s *session) compare() error {
	text := strings.Join(s.text, "\n")
	card := s.next
	s.text = nil
	var should *plan.List
	if card != nil {
		should = card.List
	}
	v := report.Verified(s.plan, s.lists, should, text)
	if v.Result != report.Damaged { // that will be scanned again
		s.next = nil
	}
	c := answer{Answer: s.answers + 1, Result: v.Result, Code: v.Code, Said: v.Said}
	if card != nil {
		c.Card, c.Unit, c.Position = card.Number, card.Unit.Name, card.Position.Name
	}
	if v.Problem != "" {
		c.Said = append([]string{v.Problem}, c.Said...)
	}
	if err := s.journal.add(c); err != nil {
		return err
	}
	s.take(c)
	s.voice.Say("%s", s.bigLine(c, card))
	return s.voice.Flush()
}

// take counts an answer.
func (s *session) take(c answer) {
	s.answers = c.Answer
	if c.Card > 0 {
		s.seen[c.Card] = c
	} else {
		s.loose = append(s.loose, c)
	}
}

// verdicts are the first word of an answer: the only thing that is read from
// across the table.
var verdicts = map[string]string{
	report.Same:     "SAME",
	report.SameList: "SAME LIST, OTHER CARD",
	report.Differs:  "DIFFERENT",
	report.Damaged:  "DAMAGED, SCAN AGAIN",
}

// mostSaid is how many differences an answer shows: more are not read.
const mostSaid = 4

// bigLine is an answer in one line.
func (s *session) bigLine(c answer, card *plan.Card) string {
	parts := []string{verdicts[c.Result]}
	if c.Code != "" {
		parts = append(parts, c.Code.Pairs())
	}
	if card != nil {
		seen, of := s.tally(card.Unit)
		parts = append(parts, fmt.Sprintf("card %d, %s (%d of %d seen)", card.Number, who(card), seen, of))
	} else {
		parts = append(parts, "no card number")
	}
	line := strings.Join(parts, "  ")
	said := c.Said
	if more := len(said) - mostSaid; more > 0 {
		said = append(slices.Clone(said[:mostSaid]), fmt.Sprintf("and %d more", more))
	}
	if len(said) > 0 {
		line += "  " + strings.Join(said, " | ")
	}
	return line
}

// tally is how many cards of a unit were seen, of how many.
func (s *session) tally(u *plan.Unit) (seen, of int) {
	for _, c := range s.plan.Cards {
		if c.Unit == u {
			of++
			if _, ok := s.seen[c.Number]; ok {
				seen++
			}
		}
	}
	return seen, of
}

// summary says who has not been seen and who has another list.
func (s *session) summary(end bool) {
	say := s.voice.Say
	if end {
		s.voice.Gap()
	}
	say("%s", s.total())
	for _, c := range s.plan.Cards {
		if a, ok := s.seen[c.Number]; ok && a.Result != report.Same {
			say("not right: card %d, %s: %s", c.Number, who(c), strings.ToLower(verdicts[a.Result]))
		}
	}
	if len(s.seen) == 0 {
		switch {
		case len(s.plan.Cards) == 0 && len(s.loose) > 0:
			say("the plan has no units, so it does not say who should be here")
		case len(s.plan.Cards) == 0:
		case len(s.loose) == 0:
			say("not seen: %s", runs(s.numbers()))
		default:
			say("no card number was typed, so it is not known who is missing")
		}
		return
	}
	missing := false
	for _, u := range s.plan.Plan.Units {
		seen, of := s.tally(u)
		if seen == of {
			continue
		}
		missing = true
		if seen == 0 {
			say("not seen: %s, all of %d: %s", u.Name, of, s.unseen(u, false))
		} else {
			say("not seen: %s, %d of %d: %s", u.Name, of-seen, of, s.unseen(u, true))
		}
	}
	if !missing {
		say("everybody has been seen")
	}
}

// unseen are the cards of a unit that have not been seen, those in a row folded;
// with their seats, where that tells who to look for.
func (s *session) unseen(u *plan.Unit, seats bool) string {
	var cards []*plan.Card
	for _, c := range s.plan.Cards {
		if _, ok := s.seen[c.Number]; c.Unit == u && !ok {
			cards = append(cards, c)
		}
	}
	if !seats {
		var all []int
		for _, c := range cards {
			all = append(all, c.Number)
		}
		slices.Sort(all)
		return runs(all)
	}
	var parts []string
	for i := 0; i < len(cards); {
		c, k := cards[i], i
		for k+1 < len(cards) && cards[k+1].Position == c.Position && cards[k+1].Number == cards[k].Number+1 && cards[k+1].Nth == cards[k].Nth+1 {
			k++
		}
		if last := cards[k]; k-i < 2 {
			k = i
			_, seat, _ := strings.Cut(who(c), u.Name+", ")
			parts = append(parts, fmt.Sprintf("card %d %s", c.Number, seat))
		} else {
			parts = append(parts, fmt.Sprintf("card %d to %d %s %d to %d of %d", c.Number, last.Number, c.Position.Name, c.Nth, last.Nth, c.Of))
		}
		i = k + 1
	}
	return strings.Join(parts, ", ")
}

// total is what was read.
func (s *session) total() string {
	line := fmt.Sprintf("%d of %s seen", len(s.seen), voice.Count(len(s.plan.Cards), "card", "cards"))
	var last []report.VerifiedList
	for _, c := range s.seen {
		last = append(last, report.VerifiedList{Result: c.Result})
	}
	if len(last) > 0 {
		line += ": " + report.Sum(last)
	}
	if len(s.loose) > 0 {
		var loose []report.VerifiedList
		for _, c := range s.loose {
			loose = append(loose, report.VerifiedList{Result: c.Result})
		}
		line += "; " + voice.Count(len(loose), "list", "lists") + " without a card number: " + report.Sum(loose)
	}
	return line
}

// allSame tells whether every list was the plan's. A scan that was damaged and
// belongs to no card was made again, or the card is missing.
func (s *session) allSame() bool {
	for _, c := range s.seen {
		if c.Result != report.Same {
			return false
		}
	}
	for _, c := range s.loose {
		if c.Result != report.Same && c.Result != report.Damaged {
			return false
		}
	}
	return true
}
