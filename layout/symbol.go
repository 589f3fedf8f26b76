package layout

// Symbol is a QR symbol: Size modules on a side, Dark tells which are dark.
type Symbol struct {
	Size    int
	Level   Level
	Payload string
	dark    []bool // row by row
}

// Dark tells whether the module in column x of row y is dark, both from 0.
func (s *Symbol) Dark(x, y int) bool { return s.dark[y*s.Size+x] }

// Level of error correction of ISO/IEC 18004: M recovers about 15 % of the
// codewords, Q 25 %, H 30 %. L (7 %) is never used on paper.
type Level uint8

const (
	LevelM Level = iota
	LevelQ
	LevelH
)

func (l Level) String() string { return [...]string{"M", "Q", "H"}[l] }

const (
	// QuietModules is the light margin that a symbol needs on all sides
	// (ISO/IEC 18004; secondary).
	QuietModules = 4
	// LeastModule is the smallest module on paper, mm: read reliably at 150 dpi.
	LeastModule = 0.40
)
