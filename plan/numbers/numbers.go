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
	"unicode/utf8"

	"slotcard/plan"
	"slotcard/plan/cells"
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

// Merge adds to what is held for a plan what was held before it, as in the plan
// of the period before. Where both speak of a seat or a number, own is right.
func Merge(own, before []Held) []Held {
	numbers, seats := map[int]bool{}, map[seat]bool{}
	for _, h := range own {
		numbers[h.Number], seats[h.seat()] = true, true
	}
	out := slices.Clone(own)
	for _, h := range before {
		if !numbers[h.Number] && !seats[h.seat()] {
			out = append(out, h)
		}
	}
	return out
}

// Apart are the seats that have another number in own than before, and those whose
// number before is another seat's in own: each as it was before.
func Apart(own, before []Held) (moved, taken []Held) {
	number, holder := map[seat]int{}, map[int]seat{}
	for _, h := range own {
		number[h.seat()], holder[h.Number] = h.Number, h.seat()
	}
	for _, h := range before {
		if n, ok := number[h.seat()]; ok && n != h.Number {
			moved = append(moved, h)
		}
		if s, ok := holder[h.Number]; ok && s != h.seat() {
			taken = append(taken, h)
		}
	}
	return moved, taken
}

// Same tells whether a number is of the same seat.
func (h Held) Same(other Held) bool { return h.seat() == other.seat() }

// Name is unit and seat, as one says them.
func (h Held) Name() string { return h.Unit + ", " + h.Seat }

func (h Held) seat() seat { return seat{h.Unit, h.Seat} }

// Assign numbers the cards of a plan by what is held, and returns what is held
// now, by number: the seats of the plan and those that are gone. The cards that are
// printed leave the codes of their lists there. Without anything held the cards keep
// the numbers they have.
func Assign(cards []*plan.Card, held []Held, printed func(*plan.Card) bool) []Held {
	last := 0
	of := make(map[seat]int, len(held))
	for i, h := range held {
		last = max(last, h.Number)
		of[h.seat()] = i
	}
	out := slices.Clone(held)
	for _, c := range cards {
		i, ok := of[seat{c.Unit.Name, Seat(c)}]
		if !ok {
			if last++; len(held) == 0 {
				last = c.Number
			}
			i, out = len(out), append(out, Held{Number: last, Unit: c.Unit.Name, Seat: Seat(c)})
		}
		if c.Number = out[i].Number; printed(c) {
			out[i].Code = c.List.Code
		}
	}
	slices.SortFunc(out, func(a, b Held) int { return cmp.Compare(a.Number, b.Number) })
	return out
}

// All are all cards, and None is no card, for [Assign].
func All(*plan.Card) bool  { return true }
func None(*plan.Card) bool { return false }

var head = []string{"number", "unit", "seat", "code"}

// Write writes what is held, by number.
func Write(w io.Writer, held []Held) error {
	c := csv.NewWriter(w)
	rows := [][]string{head}
	for _, h := range held {
		rows = append(rows, []string{strconv.Itoa(h.Number), cells.AsText(h.Unit), cells.AsText(h.Seat), string(h.Code)})
	}
	return c.WriteAll(rows)
}

// mostFaults bounds what is said of a file: who saved it in another form has a fault
// in every line.
const mostFaults = 10

// Read reads what Write wrote, or what somebody edited in it. An error names each
// line and what is wrong with it, as [errors.Join] does; then nothing is known.
func Read(r io.Reader) ([]Held, error) {
	c := csv.NewReader(r)
	c.FieldsPerRecord, c.ReuseRecord = len(head), true
	var held []Held
	var faults []error
	byNumber, bySeat := map[int]int{}, map[seat]int{}
	for first := true; len(faults) < mostFaults; first = false {
		row, err := c.Read()
		switch {
		case errors.Is(err, io.EOF):
			return held, errors.Join(faults...)
		case errors.Is(err, csv.ErrFieldCount):
			faults = append(faults, fault(err))
			continue
		case err != nil:
			return nil, errors.Join(append(faults, fault(err))...)
		}
		line, _ := c.FieldPos(0)
		row[0] = strings.TrimPrefix(row[0], "\ufeff")
		if first && strings.EqualFold(row[0], head[0]) {
			continue
		}
		h, err := heldIn(row)
		was, twice := byNumber[h.Number]
		before, again := bySeat[h.seat()]
		switch {
		case err != nil:
		case twice:
			err = fmt.Errorf("card %d stands on line %d already: two people cannot hold one number", h.Number, was)
		case again:
			err = fmt.Errorf("%.60s of %.60s stands on line %d already: a seat holds one number", h.Seat, h.Unit, before)
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("line %d: %w", line, err))
			continue
		}
		byNumber[h.Number], bySeat[h.seat()] = line, line
		held = append(held, h)
	}
	return nil, errors.Join(faults...)
}

// heldIn is what a row says.
func heldIn(row []string) (Held, error) {
	for _, cell := range row {
		if !utf8.ValidString(cell) {
			return Held{}, fmt.Errorf("%.20q is not UTF-8: save the file as CSV in UTF-8", cell)
		}
	}
	n, err := strconv.Atoi(strings.TrimSpace(row[0]))
	if err != nil || n < 1 || n > MaxNumber {
		return Held{}, fmt.Errorf("%.20q is not a card number from 1 to %d", row[0], MaxNumber)
	}
	return Held{n, cells.FromText(row[1]), cells.FromText(row[2]), slotlist.Code(row[3])}, nil
}

// fault says what is wrong with the form of a file.
func fault(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return err
	}
	if errors.Is(p.Err, csv.ErrFieldCount) {
		return fmt.Errorf("line %d: a row is number,unit,seat,code, with commas between them", p.Line)
	}
	return fmt.Errorf("line %d: a quotation mark stands where none can: delete it, or double it within quotation marks", p.Line)
}
