package layout

import (
	"fmt"
	"math"
	"sync"
)

// Symbol is a QR symbol: Size modules on a side, Dark tells which are dark.
// Make one with [EncodeSymbol] or [Symbols].
type Symbol struct {
	Size    int
	Level   Level
	Payload string
	dark    []byte // 1 for a dark module, row by row
}

// Dark tells whether the module in column x of row y is dark, both from 0.
// What lies outside of the symbol is light, as the quiet zone is.
func (s *Symbol) Dark(x, y int) bool {
	if x < 0 || y < 0 || x >= s.Size || y >= s.Size {
		return false
	}
	i := y*s.Size + x
	return i < len(s.dark) && s.dark[i] == 1
}

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
	// EnoughModule is the module up to which level M reads best in a given room, mm. Of the
	// same photographs of the same 391 characters, read at levels M, Q and H:
	//
	//	BenchmarkLevels, render/scan         36 mm: 42, 38, 26 of 80 (modules of 0.47, 0.40, 0.36)
	//	  of them with up to 4 % of dirt            37, 26, 19 of 40
	//	  with 4 to 8 % of dirt                      5, 12,  7 of 40
	//	BenchmarkSymbolLevel, render         36 mm: 20, 18, 17 of 24 (0.47, 0.40, 0.36)
	//	                                     45 mm: 18, 19, 16 of 24 (0.58, 0.51, 0.45)
	//	  with up to 15 % of dirt                   14, 13, 12 of 24
	//	                                     58 mm: 18, 19, 14 of 24 (0.75, 0.65, 0.57)
	//	  with up to 20 % of dirt                    9, 10, 10 of 24
	//
	// So M is ahead where Q would have modules below 0.5 mm, but for the dirtiest cards; from
	// there on the two are as good as each other, and Q repairs more. H is never ahead.
	EnoughModule = 0.55
	// moduleStep is by how much modules grow, mm, where nobody says how large a dot is.
	moduleStep = 0.01
)

// SymbolForm is a level of error correction, the modules on a side that it takes,
// and how large they are, mm.
type SymbolForm struct {
	Level  Level
	Count  int
	Module float64
}

// Side of the symbol without its quiet zone, mm.
func (f SymbolForm) Side() float64 { return float64(f.Count) * f.Module }

// SymbolForms are the forms that the symbol of a payload may take on paper, each with a
// larger side than the one before and with no smaller module: level M with modules from
// [LeastModule] to [EnoughModule], then level Q with these, up to most mm. Where a symbol of
// as many modules has a higher level, it has that. Of a printer with dots of so many mm,
// modules are whole dots, from [LeastDotted]; 0: nobody says. None: no symbol holds the
// payload, or no module is small enough.
func SymbolForms(payload string, most, dot float64) (forms []SymbolForm) {
	least, step := LeastModule, moduleStep
	if dot > 0 {
		least, step = LeastDotted, dot
	}
	for _, level := range []Level{LevelM, LevelQ} {
		count, ok := SymbolSize(payload, level)
		if !ok {
			break
		}
		for level < LevelH {
			if n, ok := SymbolSize(payload, level+1); !ok || n > count {
				break
			}
			level++
		}
		if n := len(forms); n > 0 && forms[n-1].Count == count {
			break // all its modules are there
		}
		to := most
		if _, more := SymbolSize(payload, LevelQ); level == LevelM && more {
			to = min(EnoughModule, most)
		}
		const whole = 1e-6 // of a step: that much a quotient is off
		for i := math.Ceil(least/step - whole); i <= math.Floor(to/step+whole); i++ {
			forms = append(forms, SymbolForm{Level: level, Count: count, Module: i * step})
		}
		least = EnoughModule
	}
	return forms
}

// capacity is the number of bytes that versions 1 to 40 hold at levels M, Q
// and H, in byte mode (ISO/IEC 18004; secondary, testdata/qr_capacity.csv).
var capacity = [...][3]int{
	{14, 11, 7}, {26, 20, 14}, {42, 32, 24}, {62, 46, 34}, {84, 60, 44},
	{106, 74, 58}, {122, 86, 64}, {152, 108, 84}, {180, 130, 98}, {213, 151, 119},
	{251, 177, 137}, {287, 203, 155}, {331, 241, 177}, {362, 258, 194}, {412, 292, 220},
	{450, 322, 250}, {504, 364, 280}, {560, 394, 310}, {624, 442, 338}, {666, 482, 382},
	{711, 509, 403}, {779, 565, 439}, {857, 611, 461}, {911, 661, 511}, {997, 715, 535},
	{1059, 751, 593}, {1125, 805, 625}, {1190, 868, 658}, {1264, 908, 698}, {1370, 982, 742},
	{1452, 1030, 790}, {1538, 1112, 842}, {1628, 1168, 898}, {1722, 1228, 958}, {1809, 1283, 983},
	{1911, 1351, 1051}, {1989, 1423, 1093}, {2099, 1499, 1139}, {2213, 1579, 1219}, {2331, 1663, 1273},
}

// SymbolSize is the number of modules on a side of the smallest symbol that
// holds a payload at a level; not ok if none does. A symbol
// of version v has 17 + 4v modules on a side (ISO/IEC 18004; secondary).
func SymbolSize(payload string, level Level) (size int, ok bool) {
	if encodable(payload) != nil {
		return 0, false
	}
	for i, c := range capacity {
		if len(payload) <= c[level] {
			return 17 + 4*(i+1), true
		}
	}
	return 0, false
}

// MostSymbol is the longest payload that a symbol holds at level M, in bytes.
func MostSymbol() int { return capacity[len(capacity)-1][LevelM] }

// EncodeSymbol makes the smallest QR symbol of a payload at a level. A payload
// is printable ASCII and LF, so that every reader takes it for what it is; any
// other character, an empty payload and one that is too long are errors.
func EncodeSymbol(payload string, level Level) (*Symbol, error) {
	if err := encodable(payload); err != nil {
		return nil, err
	}
	size, ok := SymbolSize(payload, level)
	if !ok {
		return nil, fmt.Errorf("a text of %d characters is too long for a QR code: at error correction %s it holds %d",
			len(payload), level, capacity[len(capacity)-1][level])
	}
	dark, err := modulesOf(payload, size, level)
	if err != nil {
		return nil, fmt.Errorf("a text of %d characters cannot be made a QR code: %w", len(payload), err)
	}
	return &Symbol{Size: size, Level: level, Payload: payload, dark: dark}, nil
}

func encodable(payload string) error {
	if payload == "" {
		return fmt.Errorf("there is no text to make a QR code of")
	}
	for _, r := range payload {
		if r != '\n' && (r < ' ' || r > '~') {
			return fmt.Errorf("a QR code holds printable ASCII only, not %q (%U)", r, r)
		}
	}
	return nil
}

// Symbols keeps the symbols that were made, because making one is slow and
// all cards of a list carry the same. The zero value is ready; its methods may
// be called from several goroutines.
type Symbols struct {
	mu   sync.Mutex
	made map[symbolKey]*making
}

type symbolKey struct {
	payload string
	level   Level
}

type making struct {
	once   sync.Once
	symbol *Symbol
	err    error
}

// Encode is [EncodeSymbol], once for each payload and level.
func (c *Symbols) Encode(payload string, level Level) (*Symbol, error) {
	key := symbolKey{payload, level}
	c.mu.Lock()
	if c.made == nil {
		c.made = map[symbolKey]*making{}
	}
	m := c.made[key]
	if m == nil {
		m = &making{}
		c.made[key] = m
	}
	c.mu.Unlock()
	m.once.Do(func() { m.symbol, m.err = EncodeSymbol(payload, level) })
	return m.symbol, m.err
}
