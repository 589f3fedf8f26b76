// Package numbers keeps the number on a card with its seat, from one revision
// and one operational period to the next: two people must never hold the same
// number, or a check-in answers for the wrong one. Start with [Assign].
//
// A seat that stays keeps its number, a new seat gets the next one after the
// highest that was ever given out, and a number whose seat is gone is never used
// again within an incident. What is held is a file of comma-separated values
// beside the plan, which people read and spreadsheets open; without it cards are
// numbered in the order of the plan.
package numbers

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"slotcard/plan"
	"slotcard/plan/slotlist"
)

// Held is a number and the seat that has it, or had it.
type Held struct {
	Number int
	Unit   string
	Seat   string        // position, with "(2)" behind it for the second of them
	Code   slotlist.Code // of the list on the card that was printed last
}

// MaxNumber bounds a card's number. Our choice: ten times what a plan may have.
const MaxNumber = 1_000_000

// Seat is what a card's seat is called beside its unit: "Engine boss",
// "Firefighter (2)".
func Seat(c *plan.Card) string {
	if c.Nth > 1 {
		return fmt.Sprintf("%s (%d)", c.Position.Name, c.Nth)
	}
	return c.Position.Name
}

type seat struct{ unit, seat string }

// Of is what the cards of a plan hold as they are numbered now.
func Of(cards []*plan.Card) []Held {
	held := make([]Held, len(cards))
	for i, c := range cards {
		held[i] = Held{c.Number, c.Unit.Name, Seat(c), c.List.Code}
	}
	return held
}

// Merge adds to what is held for a plan what was held before it, as in the plan
// of the period before. Where both speak of a seat or a number, own is right.
func Merge(own, before []Held) []Held {
	numbers, seats := map[int]bool{}, map[seat]bool{}
	for _, h := range own {
		numbers[h.Number], seats[seat{h.Unit, h.Seat}] = true, true
	}
	out := slices.Clone(own)
	for _, h := range before {
		if !numbers[h.Number] && !seats[seat{h.Unit, h.Seat}] {
			out = append(out, h)
		}
	}
	return out
}

// Assign numbers the cards of a plan by what is held, and returns what is held
// now, by number: the seats of the plan, with the codes of their lists, and those
// that are gone. Without anything held the cards keep the numbers they have.
func Assign(cards []*plan.Card, held []Held) []Held {
	if len(held) == 0 {
		return Of(cards)
	}
	last := 0
	of := make(map[seat]int, len(held))
	for i, h := range held {
		last = max(last, h.Number)
		of[seat{h.Unit, h.Seat}] = i
	}
	out := slices.Clone(held)
	for _, c := range cards {
		if i, ok := of[seat{c.Unit.Name, Seat(c)}]; ok {
			c.Number, out[i].Code = out[i].Number, c.List.Code
			continue
		}
		last++
		c.Number = last
		out = append(out, Held{last, c.Unit.Name, Seat(c), c.List.Code})
	}
	slices.SortFunc(out, func(a, b Held) int { return cmp.Compare(a.Number, b.Number) })
	return out
}

var head = []string{"number", "unit", "seat", "code"}

// Write writes what is held, by number.
func Write(w io.Writer, held []Held) error {
	c := csv.NewWriter(w)
	rows := [][]string{head}
	for _, h := range held {
		rows = append(rows, []string{strconv.Itoa(h.Number), asText(h.Unit), asText(h.Seat), string(h.Code)})
	}
	return c.WriteAll(rows)
}

// asText keeps a spreadsheet from taking a name for a formula.
func asText(s string) string {
	if s != "" && strings.ContainsRune("=+-@'\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Read reads what Write wrote, or what somebody edited in it. An error names the
// line and what is wrong with it; then nothing is known.
func Read(r io.Reader) ([]Held, error) {
	c := csv.NewReader(r)
	c.FieldsPerRecord, c.ReuseRecord = len(head), true
	var held []Held
	byNumber, bySeat := map[int]int{}, map[seat]int{}
	for first := true; ; first = false {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			return held, nil
		}
		if err != nil {
			return nil, fault(err)
		}
		line, _ := c.FieldPos(0)
		row[0] = strings.TrimPrefix(row[0], "\ufeff")
		if first && strings.EqualFold(row[0], head[0]) {
			continue
		}
		n, err := strconv.Atoi(strings.TrimSpace(row[0]))
		if err != nil || n < 1 || n > MaxNumber {
			return nil, fmt.Errorf("line %d: %.20q is not a card number from 1 to %d", line, row[0], MaxNumber)
		}
		h := Held{n, strings.TrimPrefix(row[1], "'"), strings.TrimPrefix(row[2], "'"), slotlist.Code(row[3])}
		if was, twice := byNumber[n]; twice {
			return nil, fmt.Errorf("line %d: card %d stands on line %d already: two people cannot hold one number", line, n, was)
		}
		if was, twice := bySeat[seat{h.Unit, h.Seat}]; twice {
			return nil, fmt.Errorf("line %d: %.60s of %.60s stands on line %d already: a seat holds one number", line, h.Seat, h.Unit, was)
		}
		byNumber[n], bySeat[seat{h.Unit, h.Seat}] = line, line
		held = append(held, h)
	}
}

// fault says what is wrong with the form of a file.
func fault(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	if errors.Is(p.Err, csv.ErrFieldCount) {
		return fmt.Errorf("line %d: a row is number,unit,seat,code", p.Line)
	}
	return fmt.Errorf("line %d: a quotation mark stands where none can: delete it, or double it within quotation marks", p.Line)
}
