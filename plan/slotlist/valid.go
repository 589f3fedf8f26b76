package slotlist

import (
	"errors"
	"fmt"
	"strings"
)

// The errors of this file complete a sentence that begins with the thing's
// name, such as: division "A B" holds " ", which separates ids.

// validID tells what is wrong with a division's id: the list text joins ids by
// comma and ends them with a space.
func validID(id string) error {
	if id == "" {
		return errors.New("is empty")
	}
	if i := strings.IndexAny(id, " ,"); i >= 0 {
		return fmt.Errorf("holds %q, which separates ids", id[i:i+1])
	}
	return ascii(id)
}

// ValidTalkgroup tells what is wrong with the system and the talkgroup of a
// channel: the list text joins them by a slash where frequencies stand, and must
// not be taken for them.
func ValidTalkgroup(system, talkgroup string) error {
	switch {
	case system == "" || talkgroup == "":
		return errors.New("needs both a system and a talkgroup")
	case strings.Contains(word(system), "/"):
		return errors.New("has a slash in the name of its system")
	case likeFrequencies(word(system), word(talkgroup)):
		return errors.New("reads like a pair of frequencies")
	}
	return nil
}

func ascii(s string) error {
	for _, r := range s {
		if r < ' ' || r > '~' {
			return fmt.Errorf("holds %q, and displays show printable ASCII only", r)
		}
	}
	return nil
}

// likeFrequencies tells a pair of decimal numbers; a pair of plain numbers is a
// talkgroup, because a frequency is always written with decimals.
func likeFrequencies(a, b string) bool {
	return a != "" && b != "" && strings.Trim(a+b, "0123456789.") == "" && strings.Contains(a+b, ".")
}
