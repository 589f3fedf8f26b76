package cells

import "strings"

// startsFormula are the characters by which a spreadsheet takes a cell of CSV for a
// formula, also behind spaces, and those that it drops to look at the next (common
// practice; OWASP, CSV Injection, from memory). The wide ones come from East Asian
// input methods, and some spreadsheets read them as the others.
const startsFormula = "=+-@\t\r\n＝＋－＠"

// AsText keeps a spreadsheet from taking a text for a formula: an apostrophe before
// it makes it text. [FromText] takes it away again.
func AsText(s string) string {
	if guards(s) {
		return "'" + s
	}
	return s
}

// FromText is the text that [AsText] was given.
func FromText(s string) string {
	if bare, ok := strings.CutPrefix(s, "'"); ok && guards(bare) {
		return bare
	}
	return s
}

// guards tells whether a text gets an apostrophe; one that begins with an apostrophe
// gets another, so that it comes back as it was.
func guards(s string) bool {
	if strings.HasPrefix(s, "'") {
		return true
	}
	s = strings.TrimLeft(s, " \u00a0")
	return s != "" && strings.IndexAny(s, startsFormula) == 0
}
