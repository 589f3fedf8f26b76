package slotlist

import (
	"crypto/sha256"
	"fmt"
	"strings"
)

// Code is a read-back code: four digits of Crockford's base 32, without space.
type Code string

// alphabet is Douglas Crockford's base 32: no I, L, O or U.
const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// codeDigits is the length of a code: 20 bits, so that two different lists
// share a code once in a million.
const codeDigits = 4

// codeOf takes the first 20 bits of the SHA-256 of the text, five at a time.
func codeOf(canonical string) Code {
	sum := sha256.Sum256([]byte(canonical))
	bits := uint32(sum[0])<<16 | uint32(sum[1])<<8 | uint32(sum[2])
	var code [codeDigits]byte
	for i := range code {
		code[i] = alphabet[bits>>(19-5*i)&31]
	}
	return Code(code[:])
}

// ParseCode reads a code as somebody types or hears it: in either case, with
// spaces or hyphens, O for 0, I or L for 1.
func ParseCode(s string) (Code, error) {
	var code strings.Builder
	for _, r := range strings.ToUpper(s) {
		switch r {
		case ' ', '-':
			continue
		case 'O':
			r = '0'
		case 'I', 'L':
			r = '1'
		}
		if !strings.ContainsRune(alphabet, r) {
			return "", fmt.Errorf("read-back code %.40q holds %q: its digits are 0 to 9 and A to Z without I, L, O and U", s, r)
		}
		code.WriteRune(r)
	}
	if code.Len() != codeDigits {
		return "", fmt.Errorf("read-back code %.40q has %d digits: it needs %d", s, code.Len(), codeDigits)
	}
	return Code(code.String()), nil
}

// Pairs is the code as it is printed: "7K 4Q".
func (c Code) Pairs() string {
	if len(c) != codeDigits {
		return string(c)
	}
	return string(c[:2]) + " " + string(c[2:])
}

// Words is the code as it is said: "seven kilo four quebec".
func (c Code) Words() string {
	words := make([]string, 0, len(c))
	for _, r := range string(c) {
		words = append(words, spelling[r])
	}
	return strings.Join(words, " ")
}

// spelling holds the words of the ITU Radio Regulations, Appendix 14, section 1,
// for letters (spelled as ICAO does: alfa, juliett, x-ray), and plain figures,
// as people on the fireground say them.
var spelling = map[rune]string{
	'0': "zero", '1': "one", '2': "two", '3': "three", '4': "four",
	'5': "five", '6': "six", '7': "seven", '8': "eight", '9': "nine",
	'A': "alfa", 'B': "bravo", 'C': "charlie", 'D': "delta", 'E': "echo",
	'F': "foxtrot", 'G': "golf", 'H': "hotel", 'I': "india", 'J': "juliett",
	'K': "kilo", 'L': "lima", 'M': "mike", 'N': "november", 'O': "oscar",
	'P': "papa", 'Q': "quebec", 'R': "romeo", 'S': "sierra", 'T': "tango",
	'U': "uniform", 'V': "victor", 'W': "whiskey", 'X': "x-ray", 'Y': "yankee",
	'Z': "zulu",
}
