// Package radio holds the values that a channel is made of: frequency in whole
// hertz, squelch, mode, width and use. They are comparable with ==, print as
// they are written in TOML, and know nothing of loads and plans. Start with
// [Hertz] and [Squelch], and with [ParseMHz] and [ParseSquelch].
package radio

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Hertz is a frequency in whole hertz. Zero means none.
type Hertz int64

// MaxFrequency bounds what is taken for a frequency: 1 THz is no typing error
// of anything that a handheld radio transmits.
const MaxFrequency Hertz = 1_000_000_000_000

var (
	errNotDecimal  = errors.New("is not a decimal number of MHz")
	errNotWhole    = errors.New("is not a whole number of hertz")
	errNotPositive = errors.New("is not greater than zero")
	errTooLarge    = errors.New("is greater than 1,000,000 MHz")
)

// ParseMHz reads digits with an optional decimal point, in MHz, exactly.
// A value that is not a whole number of hertz is an error.
func ParseMHz(s string) (Hertz, error) {
	whole, frac, _ := strings.Cut(s, ".")
	if whole == "" && frac == "" || !digits(whole) || !digits(frac) {
		return 0, errNotDecimal
	}
	frac = strings.TrimRight(frac, "0")
	if len(frac) > 6 {
		return 0, errNotWhole
	}
	if whole = strings.TrimLeft(whole, "0"); len(whole) > 7 {
		return 0, errTooLarge
	}
	n, err := strconv.ParseInt("0"+whole+frac+strings.Repeat("0", 6-len(frac)), 10, 64)
	switch {
	case err != nil:
		return 0, errNotDecimal
	case n == 0:
		return 0, errNotPositive
	case Hertz(n) > MaxFrequency:
		return 0, errTooLarge
	}
	return Hertz(n), nil
}

// FromMHz takes a floating-point number of MHz. A value more than a thousandth
// of a hertz off a whole hertz is an error: a float cannot hold 152.4125 exactly.
func FromMHz(f float64) (Hertz, error) {
	switch {
	case math.IsNaN(f) || math.IsInf(f, 0):
		return 0, errNotDecimal
	case f <= 0:
		return 0, errNotPositive
	case f > 1e6:
		return 0, errTooLarge
	}
	n := math.Round(f * 1e6)
	if math.Abs(f*1e6-n) > 1e-3 {
		return 0, errNotWhole
	}
	return Hertz(n), nil
}

func digits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// String is the frequency in MHz with at least four decimals and at most six.
func (h Hertz) String() string {
	s := fmt.Sprintf("%d.%06d", int64(h)/1e6, int64(h)%1e6)
	for range 2 {
		s = strings.TrimSuffix(s, "0")
	}
	return s
}

// KHz is a difference of frequencies in kHz, without trailing zeros.
func (h Hertz) KHz() string { return strconv.FormatFloat(float64(h)/1e3, 'f', -1, 64) }

// Mode is the kind of modulation.
type Mode uint8

const (
	Analog Mode = iota
	Digital
	Mixed
)

// Width is the width of a channel's signal.
type Width uint8

const (
	Narrow Width = iota
	Wide
)

// Use is what a channel is for: the "function" of the plan sheet.
type Use uint8

const (
	Command Use = iota + 1
	Tactical
	AirToGround
	Guard
	Support
	Travel
	Medical
)

var (
	modeNames  = []string{"analog", "digital", "mixed"}
	widthNames = []string{"narrow", "wide"}
	useNames   = []string{"", "command", "tactical", "air-to-ground", "guard", "support", "travel", "medical"}
	useCodes   = []string{"", "CMD", "TAC", "A/G", "GUARD", "SUP", "TRAV", "MED"}
)

func (m Mode) String() string  { return modeNames[m] }
func (w Width) String() string { return widthNames[w] }
func (u Use) String() string   { return useNames[u] }

// Code is the use as the list text writes it, such as CMD or TAC.
func (u Use) Code() string { return useCodes[u] }

// Names of the values, in order, as TOML writes them.
func ModeNames() []string  { return append([]string(nil), modeNames...) }
func WidthNames() []string { return append([]string(nil), widthNames...) }
func UseNames() []string   { return append([]string(nil), useNames[1:]...) }

// ParseMode, ParseWidth, ParseUse and ParseUseCode read the names above; ok is
// false for anything else.
func ParseMode(s string) (m Mode, ok bool)   { return find[Mode](modeNames, s) }
func ParseWidth(s string) (w Width, ok bool) { return find[Width](widthNames, s) }
func ParseUse(s string) (u Use, ok bool)     { return find[Use](useNames, s) }
func ParseUseCode(s string) (u Use, ok bool) { return find[Use](useCodes, s) }

func find[T ~uint8](names []string, s string) (T, bool) {
	for i, n := range names {
		if n == s && n != "" {
			return T(i), true
		}
	}
	return 0, false
}
