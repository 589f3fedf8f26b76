package layout_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"slotcard/fonts"
	"slotcard/layout"
	"slotcard/layout/impose"
	"slotcard/layout/wall"
	"slotcard/layout/words"
	"slotcard/plan"
	"slotcard/plan/plantest"
)

// field is what a grid shows where a slot's row meets a division's column.
type field struct {
	black bool
	frame float64 // weight of an open frame; 0: none
	round bool
	texts []string
}

// gridFields reads a grid back by geometry alone: rows by the numbers on the
// black strip at the left edge, columns by the large ids above, and for each
// crossing the box that stands there with its text. Keys are name and id; the
// id of the units without a division is "".
func gridFields(t require.TestingT, d *layout.Document, r *plan.Resolved, key float64) map[[2]string]field {
	ids := map[string]bool{}
	for _, dv := range r.Plan.Divisions {
		ids[dv.ID] = true
	}
	names := map[string]bool{}
	for _, s := range r.Slots {
		names[s.Channel.Name] = true
	}
	found := map[[2]string]field{}
	for _, p := range d.Pages {
		in := inspect(&layout.Panel{Width: p.Width, Height: p.Height, Items: p.Items})
		type line struct {
			at    float64
			s     string
			table int // of several on a page
		}
		var titles []float64
		for _, tx := range in.texts {
			if strings.HasPrefix(tx.S, words.EnglishWall.GridTitle) {
				titles = append(titles, tx.Y)
			}
		}
		tableOf := func(y float64) (n int) {
			for _, at := range titles {
				if y > at {
					n++
				}
			}
			return n
		}
		var rows, columns []line
		right := 0.0 // where names begin: divisions stand right of them
		for _, tx := range in.texts {
			large := fonts.CapMM(tx.Size) >= key-1e-9
			switch {
			case large && names[tx.S] && tx.Face == fonts.MonoBold:
				rows = append(rows, line{tx.Y, tx.S, tableOf(tx.Y)})
				right = max(right, tx.X)
			case large && ids[tx.S] && tx.Face == fonts.Bold:
				columns = append(columns, line{tx.X, tx.S, tableOf(tx.Y)})
			case tx.S == "No division" || tx.S == "No" && !large:
				columns = append(columns, line{tx.X, "", tableOf(tx.Y)})
			}
		}
		if len(rows) == 0 {
			continue // the key to letters alone
		}
		columns = slices.DeleteFunc(columns, func(c line) bool { return c.at <= right })
		for _, it := range p.Items {
			b, ok := it.(layout.Box)
			if !ok {
				continue
			}
			box := rect{b.X, b.Y, b.X + b.W, b.Y + b.H}.grow(b.Stroke / 2)
			for _, row := range rows {
				for _, col := range columns {
					if row.table != col.table || box.x0-0.02 > col.at || box.x1 < col.at+2 || box.y0 > row.at || box.y1 < row.at || box.x1-box.x0 > p.Width/1.3 {
						continue
					}
					f := field{black: b.Fill, frame: b.Stroke, round: b.Radius > 0}
					for i, tx := range in.texts {
						if in.inks[i].inside(box) {
							f.texts = append(f.texts, tx.S)
						}
					}
					k := [2]string{row.s, col.s}
					require.NotContains(t, found, k, "%v stands twice", k)
					found[k] = f
				}
			}
		}
	}
	return found
}

// gridSays checks that each division's field of each slot says who of its
// positions talks, has priority and scans there.
func gridSays(t require.TestingT, r *plan.Resolved, sheet *wall.Sheet) {
	d := sheet.Document
	key := layout.CapAt(sheet.From[0]*1000, 20)
	all := joinedLetters(said(d))
	for _, l := range r.Lists {
		require.Contains(t, all, joinedLetters(l.Code.Pairs()))
		for i, s := range l.Slots {
			require.True(t, tall(d, strconv.Itoa(i+1), key), "slot %d is too small", i+1)
			require.True(t, tall(d, s.Channel.Name, key), "%q is too small", s.Channel.Name)
		}
	}
	for _, dv := range r.Plan.Divisions {
		require.True(t, tall(d, dv.ID, key), "division %s is too small", dv.ID)
		name := joinedLetters(dv.Name)
		found := strings.Contains(all, name)
		for i := 1; i < len(name) && !found; i++ { // the key to letters may go on on the next page
			found = strings.Contains(all, name[:i]) && strings.Contains(all, name[i:])
		}
		require.True(t, found, "%q is missing", dv.Name)
	}
	if len(r.Lists) > 1 {
		return // one channel has a field in each table
	}
	fields := gridFields(t, d, r, key)
	for _, l := range r.Lists {
		for _, dv := range append(slices.Clone(r.Plan.Divisions), nil) {
			id := ""
			if dv != nil {
				id = dv.ID
			}
			marks := map[string][]plan.Mark{}
			letters := map[string]string{} // that stand for names where these are too many
			for i, p := range r.Plan.Positions {
				letters[p.Name] = string(rune('a' + i))
			}
			var order []string
			for _, c := range r.Cards {
				if c.Division == dv && marks[c.Position.Name] == nil {
					marks[c.Position.Name] = c.Marks
					order = append(order, c.Position.Name)
				}
			}
			for i, s := range l.Slots {
				f := fields[[2]string{s.Channel.Name, id}]
				where := fmt.Sprintf("slot %d (%s) of division %q, with %q", i+1, s.Channel.Name, id, f.texts)
				talks, hears := 0, 0
				text := joinedLetters(strings.Join(f.texts, " "))
				for _, name := range order {
					m := marks[name][i]
					if m.Talk {
						talks++
					}
					if m.Priority || m.Scan {
						hears++
						named := strings.Contains(text, joinedLetters(name)) || slices.Contains(strings.Fields(strings.Join(f.texts, " ")), letters[name])
						listed := strings.Contains(text, "everyone") || strings.Contains(text, "allbut") != named || f.black && m.Talk
						require.True(t, listed, "%s hears %s", name, where)
					} else if !m.Talk && f.black == false && len(f.texts) > 0 && strings.Contains(text, "allbut") {
						require.Contains(t, text, joinedLetters(name), "%s does not hear %s", name, where)
					}
				}
				black := talks > 0 || dv != nil && s.UsedBy(dv)
				require.Equal(t, black, f.black, "%s talks", where)
				require.Equal(t, black, slices.Contains(f.texts, "TALK"), where)
				if !black {
					require.Equal(t, hears > 0, f.frame > 0, "%s is framed", where)
				}
			}
		}
	}
}

func TestWallGridOfExamples(t *testing.T) {
	for _, name := range []string{"thimble-gulch", "first-hour"} {
		r := example(t, name)
		for _, size := range layout.PaperSizes() {
			for _, distance := range []float64{0, 1, 2} {
				t.Run(fmt.Sprintf("%s %s %g", name, size.Name, distance), func(t *testing.T) {
					d, findings := wall.Grid(r, wall.Options{Paper: size, Distance: distance})
					require.Empty(t, findings)
					if distance == 0 {
						assert.Len(t, d.Pages, 1)
					}
					for i, p := range d.Pages {
						assert.Greater(t, p.Width, p.Height)
						assert.Empty(t, sheetFaults(p, 10), "page %d", i+1)
					}
					gridSays(t, r, d)
					sizedAsSaid(t, d, layout.SheetLeast())
				})
			}
		}
	}
}

func TestWallGridOfManyPlans(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := plantest.Make(t, shapes(rt))
		dressed(rt, r)
		size := rapid.SampledFrom(layout.PaperSizes()).Draw(rt, "paper")
		distance := rapid.SampledFrom([]float64{0, 0, 1, 3}).Draw(rt, "distance")
		d, findings := wall.Grid(r, wall.Options{Paper: size, Distance: distance})
		require.Empty(rt, findings)
		for i, p := range d.Pages {
			require.Empty(rt, sheetFaults(p, 10), "page %d", i+1)
		}
		gridSays(rt, r, d)
		sizedAsSaid(rt, d, layout.SheetLeast())
	})
}

func TestWallGridGolden(t *testing.T) {
	tabloid, _ := layout.PaperSize("tabloid")
	d, findings := docOf(wall.Grid(example(t, "thimble-gulch"), wall.Options{Paper: tabloid}))
	require.Empty(t, findings)
	golden(t, "wall-grid-thimble-gulch.txt", d)
}

// Other words than English reach every place of grid and tiles.
func TestWallGridWordsAreAllInOnePlace(t *testing.T) {
	r := example(t, "thimble-gulch")
	w := words.EnglishWall
	foreign(&w)
	d, findings := docOf(wall.Grid(r, wall.Options{Words: &w}))
	require.Empty(t, findings)
	ownWords(t, r, said(d))
	a2, _ := layout.PaperSize("a2")
	letter, _ := layout.PaperSize("letter")
	whole := must(docOf(wall.Grid(r, wall.Options{Words: &w, Paper: a2})))
	d, err := impose.Tiles(whole, letter, &w)
	require.NoError(t, err)
	ownWords(t, r, said(d))
}

func BenchmarkWallGrid(b *testing.B) {
	r := example(b, "thimble-gulch")
	for b.Loop() {
		wall.Grid(r, wall.Options{})
	}
}
