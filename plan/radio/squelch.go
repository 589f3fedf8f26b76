package radio

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// SquelchKind says what opens a receiver or a repeater.
type SquelchKind uint8

const (
	Carrier SquelchKind = iota // any signal: nothing is written in TOML
	CTCSS                      // a continuous tone
	DCS                        // a digital code
	NAC                        // a network access code of a digital channel
	BySite                     // tx_tone = "site": the incident chooses; never in a resolved slot
)

// Squelch is a tone or code. The zero value is carrier squelch.
type Squelch struct {
	Kind     SquelchKind
	Value    int  // CTCSS: tenths of a hertz; DCS: the code, 0 to 0777 octal; NAC: 0 to 0xFFF
	Inverted bool // DCS only
}

// Site is the tx_tone of a channel whose repeater the incident chooses.
var Site = Squelch{Kind: BySite}

// Tone is a CTCSS tone of tenths of a hertz: Tone(1462) is 146.2 Hz.
func Tone(tenths int) Squelch { return Squelch{Kind: CTCSS, Value: tenths} }

// String writes the squelch as TOML does, CTCSS with one decimal, carrier "-".
func (s Squelch) String() string {
	switch s.Kind {
	case CTCSS:
		return fmt.Sprintf("%d.%d", s.Value/10, s.Value%10)
	case DCS:
		if s.Inverted {
			return fmt.Sprintf("D%03oI", s.Value)
		}
		return fmt.Sprintf("D%03o", s.Value)
	case NAC:
		return fmt.Sprintf("N%03X", s.Value)
	case BySite:
		return "site"
	}
	return "-"
}

// IsZero tells carrier squelch.
func (s Squelch) IsZero() bool { return s == Squelch{} }

var (
	errTone    = errors.New("is not a tone between 0.1 and 999.9 Hz with at most one decimal")
	errDCS     = errors.New("is not a DCS code: D and three digits 0 to 7, with I behind it if inverted")
	errNAC     = errors.New("is not a network access code: N and three hex digits")
	errSquelch = errors.New("is not a tone: a number of hertz, D and three digits, or N and three hex digits")
)

// toneFromHz takes a CTCSS tone in hertz.
func toneFromHz(hz float64) (Squelch, error) {
	tenths := math.Round(hz * 10)
	if math.IsNaN(hz) || tenths < 1 || tenths > 9999 || math.Abs(hz*10-tenths) > 1e-6 {
		return Squelch{}, errTone
	}
	return Tone(int(tenths)), nil
}

// NoTone tells the words by which plan sheets say that there is no tone (common
// practice).
func NoTone(word string) bool {
	switch strings.ToLower(word) {
	case "csq", "none", "no", "carrier", "cs", "n/a", "nil", "off":
		return true
	}
	return false
}

// ParseSquelch reads what [Squelch.String] writes, except "site".
func ParseSquelch(s string) (Squelch, error) {
	switch {
	case s == "-":
		return Squelch{}, nil
	case strings.HasPrefix(s, "D"):
		body, inverted := strings.CutSuffix(s[1:], "I")
		code, err := strconv.ParseUint(body, 8, 9)
		if err != nil || len(body) != 3 {
			return Squelch{}, errDCS
		}
		return Squelch{Kind: DCS, Value: int(code), Inverted: inverted}, nil
	case strings.HasPrefix(s, "N"):
		code, err := strconv.ParseUint(s[1:], 16, 12)
		if err != nil || len(s) != 4 || strings.ToUpper(s) != s {
			return Squelch{}, errNAC
		}
		return Squelch{Kind: NAC, Value: int(code)}, nil
	case s != "" && digits(strings.Replace(s, ".", "", 1)):
		hz, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return Squelch{}, errTone
		}
		return toneFromHz(hz)
	}
	return Squelch{}, errSquelch
}
