package sheet

// Titles are the titles of block 4, in the order of the form.
func Titles() []string { return append([]string(nil), titles...) }
