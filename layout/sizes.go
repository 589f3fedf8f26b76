package layout

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
)

// Size is a size of paper or card, upright or across as it is used, in millimeters.
type Size struct {
	Name          string
	Width, Height float64
}

const Inch = 25.4

// cardSizes, smallest area first. Sources: testdata/paper.csv (ISO/IEC 7810,
// ISO 216 secondary; business and index cards from memory). 96x62 is what letter
// and A4 hold two by four of, cut marks and all, within 6.35 mm of the edge.
var cardSizes = []Size{
	{"business", 3.5 * Inch, 2 * Inch},
	{"id-1", 85.6, 53.98},
	{"96x62", 96, 62},
	{"a7", 105, 74},
	{"index-3x5", 5 * Inch, 3 * Inch},
	{"index-4x6", 6 * Inch, 4 * Inch},
	{"a6", 148, 105},
}

// paperSizes upright. Sources: testdata/paper.csv (ISO 216, ANSI/ASME Y14.1, secondary).
var paperSizes = []Size{
	{"letter", 8.5 * Inch, 11 * Inch},
	{"a4", 210, 297},
	{"legal", 8.5 * Inch, 14 * Inch},
	{"tabloid", 11 * Inch, 17 * Inch},
	{"a3", 297, 420},
	{"a2", 420, 594},
}

// DefaultPaper is what is printed on where nobody says.
const DefaultPaper = "letter"

// PrintEdge is how near the edge of the paper anything is printed where nobody says what
// the printer reaches, mm: a quarter of an inch, which office printers leave white at
// most (common practice).
const PrintEdge = 6.35

// CardSizes and PaperSizes are the sizes that go by a name.
func CardSizes() []Size  { return slices.Clone(cardSizes) }
func PaperSizes() []Size { return slices.Clone(paperSizes) }

// Bounds of a card of one's own measures, mm: smaller holds no list, larger is
// no card.
const (
	LeastCard = 50
	MostCard  = 200
)

// CardSize looks a size up by its name, in small or capital letters. A card of one's own
// measures is written as width x height in millimeters, such as 90x55.
func CardSize(name string) (Size, bool) {
	if s, ok := ByName(cardSizes, name); ok {
		return s, true
	}
	width, height, ok := strings.Cut(name, "x")
	w, errW := strconv.ParseFloat(width, 64)
	h, errH := strconv.ParseFloat(height, 64)
	s := Size{name, w, h}.Across()
	ok = ok && errW == nil && errH == nil && s.Width <= MostCard && s.Height >= LeastCard && w*h > 0
	return s, ok
}

// PaperSize looks a size up by its name.
func PaperSize(name string) (Size, bool) { return ByName(paperSizes, name) }

func ByName(sizes []Size, name string) (Size, bool) {
	for _, s := range sizes {
		if strings.EqualFold(s.Name, name) {
			return s, true
		}
	}
	return Size{}, false
}

// Across is the size with its long side level.
func (s Size) Across() Size {
	return Size{s.Name, max(s.Width, s.Height), min(s.Width, s.Height)}
}

// area in square millimeters.
func (s Size) area() float64 { return s.Width * s.Height }

// Larger are those of some sizes that are larger than one, smallest first.
func Larger(sizes []Size, than Size) []Size {
	larger := slices.DeleteFunc(slices.Clone(sizes), func(s Size) bool { return s.area() <= than.area() })
	slices.SortStableFunc(larger, func(a, b Size) int { return cmp.Compare(a.area(), b.area()) })
	return larger
}
