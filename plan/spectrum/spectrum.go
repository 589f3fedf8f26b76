// Package spectrum does the radio arithmetic of a slot list: how wide a signal
// is and what it is called, which signals overlap, where third-order products
// fall, and which transmitter stands next to which receiver. Start with
// [Bandwidth] and [ThirdOrder].
//
// All functions are pure, and frequencies are whole hertz.
package spectrum

import (
	"fmt"
	"math"

	"slotcard/plan/radio"
)

// fm is the necessary bandwidth of frequency modulation, 2M + 2DK, of the
// highest modulating frequency M and the peak deviation D in hertz, with K = 1
// as for commercial telephony (47 CFR 2.202(g); ITU-R SM.1138).
func fm(highest, deviation radio.Hertz) radio.Hertz { return 2*highest + 2*deviation }

// Speech up to 3 kHz with 2.5 kHz deviation is 11K0F3E, which the guide names for
// the national channels. Wide is 16K0F3E, the worked example of the Radio
// Regulations: the same speech with 5 kHz deviation. 20K0F3E, which licenses of
// the time say, counts speech up to 5 kHz, and nobody's voice got wider.
const (
	speech        radio.Hertz = 3000
	narrowDevia   radio.Hertz = 2500
	wideDevia     radio.Hertz = 5000
	digitalSignal radio.Hertz = 8100 // 8K10F1E: four-level FM of a 12.5 kHz channel (public list, secondary)
)

// Bandwidth is the necessary bandwidth of a channel's signal. A mixed channel
// carries either kind, so the wider one counts; the digital signal has one width.
func Bandwidth(m radio.Mode, w radio.Width) radio.Hertz {
	analog := fm(speech, narrowDevia)
	if w == radio.Wide {
		analog = fm(speech, wideDevia)
	}
	switch m {
	case radio.Digital:
		return digitalSignal
	case radio.Mixed:
		return max(analog, digitalSignal)
	}
	return analog
}

// Emissions are the emission designators of a channel: 11K0F3E, or of a mixed
// channel the analog and the digital one.
func Emissions(m radio.Mode, w radio.Width) []string {
	var out []string
	if m != radio.Digital {
		out = append(out, designator(float64(Bandwidth(radio.Analog, w)))+"F3E")
	}
	if m != radio.Analog {
		out = append(out, designator(float64(digitalSignal))+"F1E")
	}
	return out
}

// designator writes a bandwidth in hertz as the first part of an emission
// designator: three numerals, half rounded up, and a letter where the decimal
// point stands, H, K, M or G (47 CFR 2.202(b)). It is empty outside of
// 0.001 Hz to 999 GHz.
func designator(hz float64) string {
	if math.IsNaN(hz) || hz < 0.001 || hz >= 999.5e9 {
		return ""
	}
	n := int64(math.Round(hz * 1000)) // millihertz
	if n < 1000 {
		return fmt.Sprintf("H%03d", n)
	}
	unit, power := int64(10), 1
	for n/unit > 999 {
		unit *= 10
		power++
	}
	n = (n + unit/2) / unit
	if n == 1000 {
		n, power = 100, power+1
	}
	digits := fmt.Sprint(n)
	point := (power-1)%3 + 1
	return digits[:point] + "HKMG"[(power-1)/3:][:1] + digits[point:]
}

// spacing is the width of a channel: 12.5 kHz where the signal is narrow, 25 kHz
// where it is wide (47 CFR 90.209(b)(5), from memory).
func spacing(w radio.Width) radio.Hertz {
	if w == radio.Wide {
		return 25_000
	}
	return 12_500
}

// Signal is a carrier and its necessary bandwidth.
type Signal struct{ Center, Bandwidth radio.Hertz }

// overlap is how much of the band two signals share; 0 if they only touch, or if
// one of them has no frequency.
func overlap(a, b Signal) radio.Hertz {
	if a.Center <= 0 || b.Center <= 0 {
		return 0
	}
	shared := (a.Bandwidth+b.Bandwidth)/2 - Apart(a.Center, b.Center)
	return max(0, min(shared, a.Bandwidth, b.Bandwidth))
}

// Apart is the distance of two frequencies.
func Apart(a, b radio.Hertz) radio.Hertz { return max(a-b, b-a) }
