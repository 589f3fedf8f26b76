package slotlist

import "strings"

// Unspell puts characters in place of spelling words, also of those that are heard
// though the alphabet has others.
func Unspell(said string) string {
	const digits = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	words := map[string]string{"alpha": "A", "juliet": "J", "xray": "X", "niner": "9"}
	for _, d := range digits {
		words[Code(d).Words()] = string(d)
	}
	fields := strings.Fields(said)
	for i, f := range fields {
		if d, ok := words[strings.ToLower(f)]; ok {
			fields[i] = d
		}
	}
	return strings.Join(fields, " ")
}
