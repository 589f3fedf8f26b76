package slotlist

import (
	"errors"
	"strings"
	"unicode/utf8"
)

// Texts takes what a scanner or a phone has shown apart into the texts of lists, each
// up to the line of its code, to be read by [Parse]. The error completes a sentence
// that begins with the name of the file.
func Texts(data []byte) (texts []string, err error) {
	const wants = "a list begins with SLOTS and ends with = and the code"
	text := strings.TrimPrefix(string(data), "\ufeff")
	switch {
	case strings.TrimSpace(text) == "":
		return nil, errors.New("is empty: " + wants)
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return nil, errors.New("is neither a text nor a picture or PDF that can be read")
	case !strings.Contains(text, "SLOTS"):
		return nil, errors.New("holds no list: " + wants)
	}
	var now []string
	for line := range strings.SplitSeq(text, "\n") {
		if blank := strings.TrimSpace(line) == ""; blank && len(now) == 0 {
			continue
		}
		if strings.HasPrefix(line, "SLOTS") && len(now) > 0 { // the last one broke off
			texts, now = append(texts, strings.Join(now, "\n")), nil
		}
		if now = append(now, line); strings.HasPrefix(line, "=") {
			texts, now = append(texts, strings.Join(now, "\n")), nil
		}
	}
	if rest := strings.Join(now, "\n"); strings.TrimSpace(rest) != "" {
		texts = append(texts, rest)
	}
	return texts, nil
}
