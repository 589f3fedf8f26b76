package layout

import "math"

// Legibility on a card. Sources: NUREG-0700 Rev. 2 1.3.1-4 and ISO 9241-3
// (16 arcmin least, 20 preferred; secondary); heights computed by H = D tan MA.
const (
	CapKey   = 2.3  // mm: slot numbers and display names, 20 arcmin at 400 mm
	CapLeast = 1.63 // mm: everything else, 16 arcmin at 350 mm
	Safe     = 3.0  // mm from the trim that hold no text
)

// Angles that letters subtend, in minutes of arc: what is looked for first, and
// everything else. Sources as for [CapKey].
const (
	ArcminKey   = 20
	ArcminLeast = 16
)

// SheetNear is the distance from which small print of sheets is read, mm.
const SheetNear = 500

// CapAt is the height of capitals in millimeters that subtends arcmin minutes
// of arc at a distance of mm millimeters.
func CapAt(mm, arcmin float64) float64 { return mm * math.Tan(arcmin/60*math.Pi/180) }

// SheetLeast is the least height of capitals on wall and hand-out sheets, mm.
func SheetLeast() float64 { return CapAt(SheetNear, ArcminLeast) }

// NoBreak stands for a space at which no line breaks.
const NoBreak = "\u00a0"
