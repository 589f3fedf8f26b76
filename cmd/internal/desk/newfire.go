package desk

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/publish"
	"slotcard/plan"
	"slotcard/plan/build"
	"slotcard/plan/edit"
	"slotcard/plan/tomlfile"
)

func init() {
	register(&View{Name: "newfire", Title: "New fire", Kinds: []string{"folder"}, Data: newData,
		Do: map[string]func(*Page) (string, error){"make": beginFire}})
}

// NewFire is the one screen of a new fire.
type NewFire struct {
	Loads    []LoadChoice
	Stations []StationChoice
	From     string // now, of the computer
	Offset   string
	Now      string
	Number   string
}

// LoadChoice is a load of the folder.
type LoadChoice struct {
	File, Says string
	Expired    bool
}

// StationChoice is a station file with its units.
type StationChoice struct {
	File  string
	Units []string
}

// typedTime is how a browser writes a day and time of day (HTML, local date and time).
const typedTime = "2006-01-02T15:04"

func newData(p *Page) (any, error) {
	now := time.Now()
	v := &NewFire{From: now.Format(typedTime), Offset: now.Format("-07:00"), Now: now.Format("Monday, 2 January 2006, 15:04")}
	names, _ := p.desk.shelf.list()
	for _, n := range names {
		st := p.desk.shelf.get(n)
		switch {
		case st.Kind == "load" && st.Load != nil && !st.Broken():
			a := st.Load.About
			c := LoadChoice{File: n, Says: strings.TrimSpace(a.Edition + " " + a.Colour + " " + a.Name)}
			if today := plan.DateOf(now); a.Expires.Before(today) {
				c.Expired, c.Says = true, c.Says+": EXPIRED on "+a.Expires.String()
			} else if today.Before(a.Effective) {
				c.Says += ": from " + a.Effective.String()
			}
			v.Loads = append(v.Loads, c)
		case st.Kind == "station" && !st.Broken():
			s, err := stationOf(p, n)
			if err == nil && len(s.Units) > 0 {
				c := StationChoice{File: n}
				for _, u := range s.Units {
					c.Units = append(c.Units, u.Name)
				}
				v.Stations = append(v.Stations, c)
			}
		}
	}
	if len(v.Loads) == 0 {
		return nil, errors.New("this folder has no load without errors: put the load of your radios here, or import your channel list from the folder; to try the desk without one, take the invented exercise there")
	}
	slices.SortStableFunc(v.Loads, func(a, b LoadChoice) int { // current ones first
		return map[bool]int{true: 1}[a.Expired] - map[bool]int{true: 1}[b.Expired]
	})
	return v, nil
}

func stationOf(p *Page, file string) (*plan.Station, error) {
	reader := files.NewReaderWithin(p.Ctx(), strings.NewReader(""), p.desk.Folder)
	s, _, err := plan.ReadStation(filepath.FromSlash(file), plan.Options{ReadFile: reader.ReadFile})
	return s, err
}

// longestFolder bounds the name of a folder, in letters: a name of many words names a
// folder by its first.
const longestFolder = 60

// folderName is what the folder of a fire is called.
func folderName(fire string) string {
	name := files.Slug(fire)
	return cmp.Or(strings.Trim(name[:min(len(name), longestFolder)], "-"), "fire")
}

// beginFire makes the plan as "slotcard new --load" does, then says in it what the
// screen asked.
func beginFire(p *Page) (string, error) {
	p.desk.building.Lock()
	defer p.desk.building.Unlock()
	name := strings.Join(strings.Fields(p.Ask("fire")), " ")
	load := path.Clean(p.Ask("load"))
	dir := folderName(name)
	from, err := time.Parse(typedTime+"Z07:00", p.Ask("from")+strings.TrimSpace(p.Ask("offset")))
	hours, hoursErr := strconv.Atoi(strings.TrimSpace(p.Ask("hours")))
	where, whereErr := p.degrees()
	_, there := p.desk.Folder.Stat(dir)
	var wrong []string
	for _, w := range []struct {
		is   bool
		says string
	}{
		{name == "", "the fire needs a name"},
		{name != "" && there == nil, "there is a folder " + dir + " already: give the fire another name, or open its plan"},
		{strings.TrimSpace(p.Ask("by")) == "", "say who prepares the plan: name and position"},
		{whereErr != nil, fmt.Sprint(whereErr)},
		{err != nil, "the beginning of the period is no time: write day and time, and the offset as -06:00"},
		{hoursErr != nil || hours < 1 || hours > 72, "the period is 1 to 72 hours long"},
		{p.Ask("sure") == "", "confirm the offset from UTC: a wrong one puts every time on the cards wrong"},
		{!p.desk.mayOpen(load), "choose the load that is in the radios"},
	} {
		if w.is {
			wrong = append(wrong, w.says)
		}
	}
	if len(wrong) > 0 {
		return "", errors.New(strings.Join(wrong, "; "))
	}
	if err := p.newIn(dir, load); err != nil {
		return "", err
	}
	file := dir + "/plan.toml"
	if err := p.sayIncident(file, name, from, time.Duration(hours)*time.Hour, where); err != nil {
		for _, f := range []string{"plan.toml", "station.toml", "plan.schema.json", "station.schema.json"} {
			_ = p.desk.Folder.Remove(dir + "/" + f)
		}
		_ = p.desk.Folder.Remove(dir)
		return "", err
	}
	p.desk.pages.wake()
	return address("list", file), nil
}

// degrees is where the fire is, as it was typed; nothing where nothing was.
func (p *Page) degrees() (where tomlfile.Pairs, err error) {
	if strings.TrimSpace(p.Ask("latitude")+p.Ask("longitude")) == "" {
		return nil, nil
	}
	for _, c := range []struct {
		key, such string
		most      float64
	}{{"latitude", "44.1", 90}, {"longitude", "-114.1", 180}} {
		n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(p.Ask(c.key)), ",", ".", 1), 64)
		if err != nil || !(math.Abs(n) <= c.most) {
			return nil, fmt.Errorf("the %s is a number of degrees from -%g to %g, such as %s", c.key, c.most, c.most, c.such)
		}
		where = append(where, tomlfile.Pair{Key: c.key, Value: n})
	}
	return where, nil
}

func (p *Page) newIn(dir, load string) error {
	var said bytes.Buffer
	ctx := context.WithoutCancel(p.Ctx())
	if p.desk.Run(ctx, p.desk.Folder, []string{"new", "--load", filepath.FromSlash(load), dir}, strings.NewReader(""), &said, &said) != 0 {
		return errors.New(strings.TrimPrefix(strings.TrimSpace(said.String()), "slotcard: "))
	}
	return nil
}

// sayIncident writes what the screen asked into a new plan.
func (p *Page) sayIncident(file, name string, from time.Time, length time.Duration, where tomlfile.Pairs) error {
	local := filepath.FromSlash(file)
	text, err := files.ReadWithin(p.desk.Folder, local, files.MaxTOML)
	if err != nil {
		return err
	}
	text = []byte(strings.Replace(asMade.Replace(string(text)), "# An incident plan: the list for this incident and this operational period, and\n# who carries it.", "# The list for this incident and this operational period, and who carries it.", 1))
	st := p.desk.shelf.get(file)
	station, base := (*plan.Station)(nil), path.Clean(p.Ask("station"))
	if p.Ask("station") != "" && p.desk.mayOpen(base) {
		if station, err = stationOf(p, base); err != nil {
			return err
		}
		set := new(plan.Plan)
		f, _ := tomlfile.Decode(local, text, set)
		if text, err = edit.Open(f).Set(set.Table, "base", strings.Repeat("../", strings.Count(file, "/"))+base).Text(); err != nil {
			return err
		}
	} else {
		station, err = stationOf(p, path.Dir(file)+"/station.toml")
		if err != nil {
			return err
		}
	}
	w, err := build.Open(local, text, st.Load, station)
	if err != nil {
		return err
	}
	raw := func(t time.Time) edit.Raw { return edit.Raw(t.Format(time.RFC3339)) }
	values := tomlfile.Pairs{
		{Key: "name", Value: name}, {Key: "number", Value: strings.TrimSpace(p.Ask("number"))},
		{Key: "exercise", Value: p.Ask("exercise") != ""}, {Key: "period", Value: 1},
		{Key: "from", Value: raw(from)}, {Key: "to", Value: raw(from.Add(length))},
		{Key: "prepared_by", Value: strings.TrimSpace(p.Ask("by"))}, {Key: "prepared_at", Value: raw(from)},
		{Key: "aircraft", Value: p.Ask("aircraft") != ""},
	}
	if err := w.SetIncident(append(values, where...)); err != nil {
		return err
	}
	if base != "" && p.Ask("station") != "" {
		if err := w.KeepUnits(p.Request.Form["unit"]); err != nil {
			return err
		}
	}
	if err := publish.All(p.Ctx(), filepath.Dir(local), []publish.File{{Name: filepath.Base(local), Data: w.Text()}}, publish.Any); err != nil {
		return err
	}
	if p.Ask("station") != "" { // the plan has the station's own file
		_ = os.Remove(filepath.Join(filepath.Dir(local), "station.toml"))
	}
	return nil
}

// asMade takes out of the template what is true only before somebody has filled it in.
var asMade = strings.NewReplacer(
	` Written by "slotcard new". It is an exercise and prints as it
# is; replace what stands here with what the approved plan says, then type`, ` Type`,
	"          # replace\n", "\n", "     # replace\n", "\n",
)
