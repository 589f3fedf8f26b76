package sheet

import (
	"regexp"
	"sync"
)

// pattern is a regular expression that is compiled when it is first needed. To
// compile all of them takes half a megabyte and a millisecond at every start, and
// most runs read no plan sheet.
type pattern func() *regexp.Regexp

func compiled(text string) pattern {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(text) })
}
