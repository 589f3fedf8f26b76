package papers

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// measure is a flag for a length: a number, or a number with the unit behind it.
type measure struct {
	to   *float64
	unit string
}

func (m *measure) String() string {
	if m.to == nil || *m.to <= 0 {
		return "" // the default of none is not shown
	}
	return strconv.FormatFloat(*m.to, 'g', -1, 64)
}

func (m *measure) Set(s string) (err error) {
	bare := strings.TrimSpace(strings.TrimSuffix(strings.ToLower(strings.TrimSpace(s)), m.unit))
	if *m.to, err = strconv.ParseFloat(bare, 64); err != nil || math.IsNaN(*m.to) || math.IsInf(*m.to, 0) {
		*m.to = 0
		return fmt.Errorf("no number of %s", m.unit)
	}
	return nil
}

func (m *measure) Type() string { return "number" }
