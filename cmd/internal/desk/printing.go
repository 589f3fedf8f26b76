package desk

// printed are the papers that were made for the browser's viewer, for a while.
type printed struct{}
