package desk

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/plan"
	"slotcard/plan/cells"
	"slotcard/plan/channellist"
)

func init() {
	register(&View{Name: "import", Title: "Import a channel list", Kinds: []string{"folder"}, Data: importData,
		Do: map[string]func(*Page) (string, error){"read": readList, "import": importList}})
}

// Import is an agency's channel list on its way to a load: as import makes one, with
// what its columns were taken for.
type Import struct {
	Made    string // the sheets that were read; "": none yet
	Loads   []Choice
	Asked   map[string]string
	Sources string
	Says    string // how many channels, and what is left to decide
	Not     string // why no load comes of it
	Tables  []ImportTable
	Groups  []ImportGroup
	NotRead []string
	Notes   []string
	Open    []string
	Changes []string // since last year's load
}

// ImportTable is a table of the sheets.
type ImportTable struct {
	Where   string
	Columns []ImportColumn
	Rows    int // cells shown of each column
}

// ImportColumn is a column, and what it was taken for.
type ImportColumn struct {
	Letter, Title, Field, Why string
	Filled                    int
	NotRead                   bool
	First                     []string
	Choices                   []Choice // what it can hold
}

// ImportGroup is a group of the load that comes of it. What is to be decided says so.
type ImportGroup struct {
	Title string
	Rows  []report.ListRow
	More  int
}

// importing are sheets that were read.
type importing struct{ sources []channellist.Source }

// importFields are what is typed beside the sheets.
var importFields = []string{"name", "edition", "color", "effective", "expires", "positions", "edition-channel", "since", "file"}

// pasted is what the cells are called that came without a file.
const pasted = "pasted.txt"

// mostPreviewed bounds the channels that are shown of a group.
const mostPreviewed = 60

func importData(p *Page) (any, error) {
	v := &Import{Asked: map[string]string{}}
	for _, f := range importFields {
		v.Asked[f] = p.Ask(f)
	}
	for _, n := range p.loads() {
		about := p.desk.shelf.get(n).Load.About
		v.Loads = append(v.Loads, Choice{Name: strings.TrimSpace(about.Edition + " " + about.Colour + " " + about.Name), Value: n, Here: n == p.Ask("since")})
	}
	made := p.desk.imports.get(p.Ask("made"))
	if made == nil {
		return v, nil
	}
	v.Made = p.Ask("made")
	var names []string
	for _, s := range made.sources {
		names = append(names, s.Name)
	}
	v.Sources = strings.Join(names, ", ")
	l, old, err := p.imported(made)
	if err != nil {
		v.Not = err.Error()
		return v, nil
	}
	v.tables(l, p.Request.Form["map"])
	d, changes, err := l.Draft(p.answers(), old)
	if err != nil {
		v.Not = "the display name that carries the edition " + err.Error()
		d, changes, _ = l.Draft(channellist.Answers{}, old)
	}
	v.fill(l, d, changes)
	return v, nil
}

// imported is the list that the sheets hold, with what was said of their columns.
func (p *Page) imported(made *importing) (*channellist.List, *plan.Load, error) {
	var o channellist.Options
	for _, m := range p.Request.Form["map"] {
		if m == "" {
			continue
		}
		at, column := tableSaid(m)
		mapping, err := channellist.ParseMapping(column)
		mapping.At = at
		if err != nil {
			return nil, nil, errors.New("what a column holds " + err.Error())
		}
		o.Map = append(o.Map, mapping)
	}
	var old *plan.Load
	if since := p.Ask("since"); since != "" {
		if !slices.Contains(p.loads(), since) {
			return nil, nil, errors.New("last year's load is not in the folder any more")
		}
		old = p.desk.shelf.get(since).Load
		o.Tones = old.Tones
	}
	l, err := channellist.Read(made.sources, o)
	return l, old, err
}

// mapOf is what a column of a table holds, as a form sends it: of several tables, with
// the place of that one.
func mapOf(t channellist.Table, several bool, mapping string) string {
	if !several {
		return mapping
	}
	return strings.Join([]string{t.At.File, t.At.Sheet, strconv.Itoa(t.At.Row), mapping}, "\t")
}

// tableSaid parts what a form sent of a column.
func tableSaid(s string) (at channellist.Place, mapping string) {
	parts := strings.SplitN(s, "\t", 4)
	if len(parts) < 4 {
		return at, s
	}
	row, _ := strconv.Atoi(parts[2])
	return channellist.Place{File: parts[0], Sheet: parts[1], Row: row, Column: -1}, parts[3]
}

// answers are what no sheet says.
func (p *Page) answers() channellist.Answers {
	text := func(name string) string { return strings.Join(strings.Fields(p.Ask(name)), " ") }
	n, _ := strconv.Atoi(text("positions"))
	day := func(name string) string {
		if _, err := time.Parse(time.DateOnly, text(name)); err != nil {
			return ""
		}
		return text(name)
	}
	return channellist.Answers{
		Name: text("name"), Edition: text("edition"), Color: text("color"), Effective: day("effective"), Expires: day("expires"),
		ListPositions: max(0, n), EditionChannel: text("edition-channel"),
	}
}

func (v *Import) tables(l *channellist.List, said []string) {
	for _, t := range l.Tables {
		x := ImportTable{Where: t.At.File + ", " + t.At.String() + ": " + report.OfKind(t)}
		for _, c := range t.Columns {
			w := ImportColumn{Letter: cells.ColumnName(c.Index), Title: c.Title, Field: c.Field.String(), Why: forDesk(c.Why), Filled: c.Filled, NotRead: c.Field == channellist.NotUsed, First: c.First}
			x.Rows = max(x.Rows, len(c.First))
			name := cmp.Or(c.Title, w.Letter)
			if slices.ContainsFunc(t.Columns, func(o channellist.Column) bool { return o.Index != c.Index && strings.EqualFold(o.Title, c.Title) }) {
				name = w.Letter
			}
			w.Choices = []Choice{{Value: "", Name: "as found"}}
			for _, f := range channellist.FieldNames(t.Kind) {
				m := mapOf(t, len(l.Tables) > 1, name+"="+f)
				called := strings.ReplaceAll(f, "_", " ")
				if f == "-" {
					called = "not to be read"
				}
				w.Choices = append(w.Choices, Choice{Value: m, Name: called, Here: slices.Contains(said, m)})
			}
			x.Columns = append(x.Columns, w)
		}
		v.Tables = append(v.Tables, x)
	}
}

// forDesk says of a column what to choose, where the command says what to type.
func forDesk(why string) string {
	before, flag, typed := strings.Cut(why, "say --map ")
	if !typed {
		return why
	}
	return before + "choose " + strings.Trim(flag[strings.LastIndex(flag, "=")+1:], `"`)
}

func (v *Import) fill(l *channellist.List, d *channellist.Draft, changes []channellist.Pair) {
	for _, g := range l.Groups {
		x := ImportGroup{Title: fmt.Sprintf("Group %d %s, %s", g.Number, g.Name, voice.Count(len(g.Channels), "channel", "channels"))}
		for i, c := range g.Channels {
			if i == mostPreviewed {
				x.More = len(g.Channels) - i
				break
			}
			x.Rows = append(x.Rows, report.RowOf(c))
		}
		v.Groups = append(v.Groups, x)
	}
	for _, n := range l.NotRead {
		v.NotRead = append(v.NotRead, report.NotReadLine(n))
	}
	v.Notes = l.Notes
	for _, o := range d.Open {
		line := o.What
		if o.At.Row > 0 {
			line += " (" + o.At.File + ", " + o.At.String() + ")"
		}
		v.Open = append(v.Open, line)
	}
	for _, c := range changes {
		if c.Change != channellist.Same {
			v.Changes = append(v.Changes, c.Change.String()+": "+c.What())
		}
	}
	v.Says = fmt.Sprintf("%s in %s", voice.Count(l.Len(), "channel", "channels"), voice.Count(len(l.Groups), "group", "groups"))
}

// readList takes sheets: files that were chosen or dropped, or what was pasted.
func readList(p *Page) (string, error) {
	made := &importing{}
	add := func(name string, data []byte) error {
		what := files.Shown(name)
		if name == pasted {
			what = "what you pasted"
		}
		switch kind, own := plan.OwnFile(name, data); {
		case own && kind == plan.LoadFile:
			return fmt.Errorf("%s is a load already: put it into the folder, and it stands among the loads", what)
		case own:
			return fmt.Errorf("%s is a %s, not a channel list: put it into the folder, and open it there", what, kind)
		}
		book, err := cells.Read(data, name)
		if err != nil {
			return fmt.Errorf("%s %w", what, err)
		}
		sum := sha256.Sum256(data)
		made.sources = append(made.sources, channellist.Source{Name: files.Shown(name), Sum: hex.EncodeToString(sum[:]), Book: book})
		return nil
	}
	if form := p.Request.MultipartForm; form != nil {
		for _, h := range form.File["file"] {
			if h.Size == 0 {
				continue
			}
			f, err := h.Open()
			if err != nil {
				return "", err
			}
			data, err := io.ReadAll(io.LimitReader(f, cells.MaxFile+1))
			f.Close()
			if err == nil {
				err = add(filepath.Base(h.Filename), data)
			}
			if err != nil {
				return "", err
			}
		}
	}
	if text := p.Ask("text"); strings.TrimSpace(text) != "" {
		if err := add(pasted, []byte(strings.ReplaceAll(text, "\r\n", "\n"))); err != nil {
			return "", err
		}
	}
	if len(made.sources) == 0 {
		return "", errors.New("choose the file of the channel list, or paste its cells")
	}
	if _, err := channellist.Read(made.sources, channellist.Options{}); err != nil {
		return "", err
	}
	return "/import/?made=" + p.desk.imports.keep(made), nil
}

// importList looks again at the list as it was typed, or writes the load.
func importList(p *Page) (string, error) {
	if p.Ask("write") != "" {
		return p.writeList()
	}
	q := url.Values{"made": {p.Ask("made")}}
	for _, m := range p.Request.Form["map"] {
		if m != "" {
			q.Add("map", m)
		}
	}
	for _, f := range importFields {
		if s := p.Ask(f); s != "" {
			q.Set(f, s)
		}
	}
	return "/import/?" + q.Encode(), nil
}

// writeList writes the new load. It is never written over another file.
func (p *Page) writeList() (string, error) {
	made := p.desk.imports.get(p.Ask("made"))
	if made == nil {
		return "", errors.New("the desk has started anew: read the sheet again; nothing was written")
	}
	for _, d := range []string{"effective", "expires"} {
		if s := strings.TrimSpace(p.Ask(d)); s != "" {
			if _, err := time.Parse(time.DateOnly, s); err != nil {
				return "", fmt.Errorf("%s %q is no day: write it such as 2027-03-01; nothing was written", d, s)
			}
		}
	}
	if s := strings.TrimSpace(p.Ask("positions")); s != "" {
		if n, err := strconv.Atoi(s); err != nil || n < 1 || n > 1000 {
			return "", errors.New("the positions of a list are a number from 1 to 1000: nothing was written")
		}
	}
	l, old, err := p.imported(made)
	if err != nil {
		return "", err
	}
	d, _, err := l.Draft(p.answers(), old)
	if err != nil {
		return "", fmt.Errorf("the display name that carries the edition %w; nothing was written", err)
	}
	if len(d.TOML) > files.MaxTOML {
		return "", errors.New("the load is " + files.TooLarge(files.MaxTOML) + ", and nothing would read it: import the list in parts")
	}
	name, err := p.desk.newFile(".", p.Ask("file"))
	if err != nil {
		return "", err
	}
	p.desk.writing.Lock()
	defer p.desk.writing.Unlock()
	if err := publish.All(p.Ctx(), filepath.FromSlash(path.Dir(name)), []publish.File{{Name: path.Base(name), Data: d.TOML}}, publish.Nothing); err != nil {
		return "", err
	}
	p.desk.pages.wake()
	return address("load", name), nil
}
