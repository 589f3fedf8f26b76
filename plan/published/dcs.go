package published

import (
	"slices"
	"strconv"
	"sync"

	"slotcard/plan/radio"
)

// A DCS word has 23 bits and goes out again and again without a mark where it
// begins. So all rotations of a word are one code to a receiver, and several of
// the 512 octal numbers name the same code. An inverted code is received as the
// code of the complement.
const (
	dcsCodes = 0o1000
	wordBits = 23
	wordMask = 1<<wordBits - 1
	// golay is x^11+x^10+x^6+x^5+x^4+x^2+1, which generates the Golay code.
	golay = 0xC75
)

// dcsWord is the word of a code, 0 to 0777 octal: 11 parity bits, the fixed bits
// 100, nine code bits; the lowest bit is sent first.
func dcsWord(code int) uint32 {
	word := uint32(0x800 | code&(dcsCodes-1))
	rest := word << 11
	for i := wordBits - 1; i >= 11; i-- {
		if rest>>i&1 == 1 {
			rest ^= golay << (i - 11)
		}
	}
	return rest<<12 | word
}

// class names the set of rotations of a word by its least member.
func class(word uint32) uint32 {
	least := word
	for range wordBits - 1 {
		word = word>>1 | word&1<<(wordBits-1)
		least = min(least, word)
	}
	return least
}

// DCSCode is a code of a published list.
type DCSCode struct {
	Code int
	List string // classic (83 codes), extended (106), longer (112)
	Origin
}

// dcsTables are the listed codes, and all octal codes of a class, ascending.
var dcsTables = sync.OnceValues(func() (listed map[int]DCSCode, byClass map[uint32][]int) {
	listed, byClass = map[int]DCSCode{}, map[uint32][]int{}
	for _, row := range rows("dcs.csv") {
		code, err := strconv.ParseUint(row["code"], 8, 9)
		if err != nil {
			panic(err)
		}
		listed[int(code)] = DCSCode{int(code), row["list"], origin(row)}
	}
	for code := range dcsCodes {
		c := class(dcsWord(code))
		byClass[c] = append(byClass[c], code)
	}
	return listed, byClass
})

func dcsByClass(class uint32) []int {
	_, byClass := dcsTables()
	return byClass[class]
}

// dcsListed gives the entry of a code in the published lists.
func dcsListed(code int) (DCSCode, bool) {
	listed, _ := dcsTables()
	c, ok := listed[code]
	return c, ok
}

// DCSKnown tells whether a code stands in a published list.
func DCSKnown(code int) bool {
	_, ok := dcsListed(code)
	return ok
}

// dcsAliases are the other octal numbers that name the same code, ascending.
func dcsAliases(code int) []int {
	same := slices.Clone(dcsByClass(class(dcsWord(code))))
	return slices.DeleteFunc(same, func(c int) bool { return c == code })
}

// dcsInverses are all octal numbers of the code as which an inverted one is
// received, ascending. It may be empty: most words inverted lack the fixed bits
// in every rotation.
func dcsInverses(code int) []int {
	return slices.Clone(dcsByClass(class(^dcsWord(code) & wordMask)))
}

// dcsInverse is the listed code as which an inverted one is received: 023
// inverted is 047. Of several the one in the older list comes first.
func dcsInverse(code int) (inverse int, ok bool) { return listed(dcsInverses(code)) }

// listed picks, of codes that are the same, the one to write.
func listed(codes []int) (int, bool) {
	for _, list := range []string{"classic", "extended", "longer"} {
		for _, c := range codes {
			if e, ok := dcsListed(c); ok && e.List == list {
				return c, true
			}
		}
	}
	return 0, false
}

// DCSWritten is a DCS squelch as the published lists write it: 340 is 023, and
// 023 inverted is 047. It is false where no list has the code.
func DCSWritten(q radio.Squelch) (radio.Squelch, bool) {
	if q.Kind != radio.DCS {
		return q, false
	}
	var code int
	var ok bool
	if q.Inverted {
		code, ok = dcsInverse(q.Value)
	} else {
		code, ok = listed(append(dcsAliases(q.Value), q.Value))
	}
	if !ok {
		return q, false
	}
	return radio.Squelch{Kind: radio.DCS, Value: code}, true
}

// SameSquelch tells whether two squelch values open the same receivers. They
// may be written differently only if they are DCS.
func SameSquelch(a, b radio.Squelch) bool {
	if a.Kind != radio.DCS || b.Kind != radio.DCS {
		return a == b
	}
	return class(received(a)) == class(received(b))
}

func received(q radio.Squelch) uint32 {
	if q.Inverted {
		return ^dcsWord(q.Value) & wordMask
	}
	return dcsWord(q.Value)
}
