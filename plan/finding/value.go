package finding

import (
	"cmp"
	"slices"
	"strings"

	"github.com/hbollon/go-edlib"
)

// ValueError is why a single value cannot be used, where the reader of a file
// knows the place and the key, and the value's own type knows the reason. It
// completes the sentence "KEY VALUE ...", as in "is not a whole number of hertz".
type ValueError struct {
	Rule    string   // "": bad-value
	Reason  string   // lower case, no full stop
	Choices []string // the words that would do, for "did you mean"
	Help    []string // what to type
	Instead []Instead
}

// Instead is a value that would do. Title is the help that says so; "": write
// and the value.
type Instead struct {
	Value string // as TOML
	Title string
}

func (e *ValueError) Error() string { return e.Reason }

// Closest is those of the known words that word is probably meant to be, nearest first, at
// most n of them: no more than a third of the letters differ, and one always may, where two
// swapped neighbors count once (the optimal string alignment distance). Case does not
// count; where nothing else differs, what is merely near is left out.
func Closest(word string, known []string, n int) []string {
	const longest = 64 // the distance takes length times length
	folded := strings.ToLower(strings.TrimSpace(word))
	if folded == "" || len(folded) > longest {
		return nil
	}
	type near struct {
		word     string
		distance int
	}
	var found []near
	for _, k := range known {
		other := strings.ToLower(k)
		if len(other) > longest {
			continue
		}
		distance := edlib.OSADamerauLevenshteinDistance(folded, other)
		limit := max(1, (max(len([]rune(folded)), len([]rune(other)))+1)/3)
		switch {
		case distance <= limit:
		case len(folded) >= 3 && strings.HasPrefix(other, folded):
			distance = limit + 1
		default:
			continue
		}
		found = append(found, near{k, distance})
	}
	slices.SortStableFunc(found, func(a, b near) int { return cmp.Compare(a.distance, b.distance) })
	if len(found) > 0 && found[0].distance == 0 { // nothing but case is wrong
		found = slices.DeleteFunc(found, func(f near) bool { return f.distance > 0 })
	}
	var words []string
	for _, f := range found[:min(n, len(found))] {
		words = append(words, f.word)
	}
	return words
}
