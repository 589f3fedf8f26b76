package radio

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"slotcard/plan/finding"
)

// The UnmarshalTOML methods take a value as a TOML decoder gives it: string,
// int64, float64 or anything else. Their errors are [finding.ValueError]s.

const (
	wrongType  = "wrong-type"
	outOfRange = "out-of-range"
)

// UnmarshalTOML reads a frequency in MHz: a number, or a string of digits.
func (h *Hertz) UnmarshalTOML(v any) error {
	var err error
	switch v := v.(type) {
	case string:
		*h, err = ParseMHz(v)
		if fixed := strings.Replace(v, ",", ".", 1); err != nil && fixed != v {
			if _, e := ParseMHz(fixed); e == nil {
				return &finding.ValueError{Reason: err.Error(), Instead: []finding.Instead{{Value: fixed, Title: "write a decimal point: " + fixed}}}
			}
		}
	case int64:
		if v <= 0 {
			err = errNotPositive
		} else {
			*h, err = ParseMHz(strconv.FormatInt(v, 10))
		}
	case float64:
		*h, err = FromMHz(v)
	default:
		return &finding.ValueError{Rule: wrongType, Reason: "is not a frequency", Help: []string{"write MHz as a number, such as 154.2800"}}
	}
	if err == nil && *h > typedAtMost {
		err = errTooLarge
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, errTooLarge):
		fault := &finding.ValueError{Rule: outOfRange, Reason: "is not a frequency in MHz: it is too large"}
		if mhz := inMHz(v); mhz != 0 {
			fault.Instead = []finding.Instead{{Value: mhz.String()}}
		} else {
			fault.Help = []string{"frequencies are in MHz, such as 154.2800"}
		}
		return fault
	case errors.Is(err, errNotPositive):
		return &finding.ValueError{Rule: outOfRange, Reason: err.Error(), Help: []string{"write MHz, or leave the key out"}}
	case errors.Is(err, errNotWhole):
		return &finding.ValueError{Reason: err.Error(), Help: []string{"a frequency in MHz has at most six decimals"}}
	}
	if text, ok := v.(string); ok && len(text) > 3 && strings.EqualFold(text[len(text)-3:], "MHz") {
		if bare := strings.TrimSpace(text[:len(text)-3]); bare != "" {
			if _, e := ParseMHz(bare); e == nil {
				return &finding.ValueError{Reason: err.Error(), Instead: []finding.Instead{{Value: bare}}}
			}
		}
	}
	return &finding.ValueError{Reason: err.Error(), Help: []string{"write MHz, such as 154.2800"}}
}

// typedAtMost is the highest frequency that a file may hold: far above any
// handheld's. What is higher was written in kHz or Hz.
const typedAtMost Hertz = 10_000_000_000

// inMHz is what was meant by a number of kHz or Hz, in the range of handhelds; 0
// where that cannot be told.
func inMHz(v any) Hertz {
	f, err := strconv.ParseFloat(fmt.Sprint(v), 64)
	for range 2 {
		f /= 1000
		if h, e := FromMHz(f); err == nil && e == nil && h >= 25_000_000 && h <= 1_000_000_000 {
			return h
		}
	}
	return 0
}

// UnmarshalTOML reads a tone in hertz as a number, or a code or "site" as a string.
func (s *Squelch) UnmarshalTOML(v any) error {
	var err error
	var instead []finding.Instead
	help := []string{`write hertz as a number, or "D023", "D023I" or "N293"`}
	switch v := v.(type) {
	case int64:
		*s, err = toneFromHz(float64(v))
	case float64:
		*s, err = toneFromHz(v)
	case string:
		if v == "site" {
			*s = Site
			return nil
		}
		if *s, err = ParseSquelch(v); err == nil && s.Kind == CTCSS {
			return &finding.ValueError{Rule: wrongType, Reason: "is a tone written as text", Instead: []finding.Instead{{Value: v, Title: "write it without quotes: " + v}}}
		}
		if err != nil {
			if fixed, e := ParseSquelch(strings.ToUpper(strings.TrimSpace(v))); e == nil && fixed.Kind != CTCSS {
				help, instead = nil, []finding.Instead{{Value: strconv.Quote(fixed.String())}}
			} else if strings.EqualFold(v, "site") {
				help, instead = nil, []finding.Instead{{Value: `"site"`}}
			} else if NoTone(v) {
				help = []string{"leave the key out: a channel without tone has none"}
			}
		}
	default:
		return &finding.ValueError{Rule: wrongType, Reason: "is not a tone", Help: help}
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, errTone):
		return &finding.ValueError{Rule: outOfRange, Reason: err.Error(), Help: help, Instead: instead}
	}
	return &finding.ValueError{Reason: err.Error(), Help: help, Instead: instead}
}

// UnmarshalTOML reads the name of a mode.
func (m *Mode) UnmarshalTOML(v any) error {
	return named(m, v, ParseMode, "is not a mode", modeNames)
}

// UnmarshalTOML reads the name of a width.
func (w *Width) UnmarshalTOML(v any) error {
	return named(w, v, ParseWidth, "is not a channel width", widthNames)
}

// UnmarshalTOML reads the name of a use.
func (u *Use) UnmarshalTOML(v any) error {
	return named(u, v, ParseUse, "is not a use of a channel", useNames[1:])
}

func named[T any](into *T, v any, parse func(string) (T, bool), reason string, names []string) error {
	s, ok := v.(string)
	if !ok {
		return &finding.ValueError{Rule: wrongType, Reason: reason, Choices: append([]string(nil), names...)}
	}
	got, ok := parse(s)
	if !ok {
		return &finding.ValueError{Reason: reason, Choices: append([]string(nil), names...)}
	}
	*into = got
	return nil
}

// MarshalTOML writes the frequency in MHz.
func (h Hertz) MarshalTOML() ([]byte, error) { return []byte(h.String()), nil }

// MarshalTOML writes the tone or code; carrier squelch has no value, its key is
// left out.
func (s Squelch) MarshalTOML() ([]byte, error) {
	if s.Kind == Carrier {
		return nil, errors.New("carrier squelch is not written in TOML")
	}
	return []byte(s.TOML()), nil
}

// TOML is the value as a file has it: a number, or a text in quotes.
func (s Squelch) TOML() string {
	if s.Kind == CTCSS {
		return s.String()
	}
	return `"` + s.String() + `"`
}
