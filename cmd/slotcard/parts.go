package main

import (
	"fmt"
	"slices"

	"slotcard/layout"
)

// mostPages is the most pages of a PDF: a ream of 500 sheets printed on both
// sides. It bounds what a printer has to take, and the memory to make a file. It
// is even, so that fronts and backs stay in one file.
const mostPages = 1000

// part is a piece of a document that is a file of its own.
type part struct {
	name string
	doc  *layout.Document
}

// partsOf cuts a document into files of at most so many pages: NAME.pdf where
// one holds it, else NAME-1.pdf and so on. Each has the outline of its own pages.
func partsOf(name string, d *layout.Document, most int) []part {
	if len(d.Pages) <= most {
		return []part{{name + ".pdf", d}}
	}
	n := (len(d.Pages) + most - 1) / most
	parts := make([]part, 0, n)
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
		parts = append(parts, part{fmt.Sprintf("%s-%0*d.pdf", name, width(n), len(parts)+1), &piece})
	}
	return parts
}

// pdfs are the names of the PDFs of a sheet, as one says them.
func (s *sheet) pdfs() string {
	parts := partsOf(s.name, s.doc, mostPages)
	if len(parts) == 1 {
		return parts[0].name
	}
	return parts[0].name + " to " + parts[len(parts)-1].name
}
