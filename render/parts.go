package render

import (
	"fmt"
	"slices"
	"strconv"

	"slotcard/layout"
)

// MostPages is the most pages of a PDF: a ream of 500 sheets printed on both
// sides. It bounds what a printer has to take, and the memory to make a file. It
// is even, so that fronts and backs stay in one file.
const MostPages = 1000

// Part is a piece of a document that is a file of its own.
type Part struct {
	Name     string // of the file
	Document *layout.Document
}

// Parts cuts a document into files of at most so many pages: NAME.pdf where
// one holds it, else NAME-1.pdf and so on. Each has the outline of its own pages.
func Parts(name string, d *layout.Document, most int) []Part {
	if len(d.Pages) <= most {
		return []Part{{name + ".pdf", d}}
	}
	n := (len(d.Pages) + most - 1) / most
	parts := make([]Part, 0, n)
	var above []layout.Bookmark // the last one of each level
	for pages := range slices.Chunk(d.Pages, most) {
		piece := *d
		piece.Pages = slices.Clone(pages)
		first := true
		for i := range piece.Pages {
			for _, b := range piece.Pages[i].Bookmarks {
				if first && b.Level > 0 {
					// It stands below some in the file before: repeat them.
					var repeated []layout.Bookmark
					for _, up := range above[:b.Level] {
						repeated = append(repeated, layout.Bookmark{Title: up.Title, Level: up.Level, Y: b.Y})
					}
					piece.Pages[i].Bookmarks = slices.Concat(repeated, piece.Pages[i].Bookmarks)
				}
				first = false
				above = append(above[:b.Level], b)
			}
		}
		parts = append(parts, Part{fmt.Sprintf("%s-%0*d.pdf", name, len(strconv.Itoa(n)), len(parts)+1), &piece})
	}
	return parts
}
