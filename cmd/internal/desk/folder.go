package desk

import (
	"cmp"
	"net/http"
	"path"
	"slices"
	"time"

	"slotcard/plan"
	"slotcard/plan/changes"
)

func init() {
	register(&View{Name: "folder", Title: "Folder", Kinds: []string{"folder"}, Data: folderData,
		Parts: map[string]func(*Page, http.ResponseWriter) error{"tour": tour}})
}

// Folder is what lies in the folder.
type Folder struct {
	Fires  []Fire
	Loads  []Shelved
	Crews  []Shelved // station files
	Broken []Shelved // that cannot be told to be one or the other
	More   bool      // than are listed
}

// Fire is the plans of an incident.
type Fire struct {
	Name, Number string
	Plans        []Shelved
}

// Shelved is a file of the folder.
type Shelved struct {
	File     string
	Problem  string
	Incident plan.Incident
	Load     *plan.Load
	Seats    int
	Errors   int
	Warnings int
	First    string // the view that it is opened with
}

// Period is when a plan is for, as its cards say it.
func (s Shelved) Period() string {
	in := s.Incident
	if in.From.IsZero() || in.To.IsZero() {
		return ""
	}
	to := in.To.Format("15:04")
	if in.From.Format(time.DateOnly) != in.To.Format(time.DateOnly) {
		to = in.To.Format("2 Jan 15:04")
	}
	return in.From.Format("2 Jan 15:04") + "–" + to
}

// folderData lists plans by incident, period and revision, the newest first.
func folderData(p *Page) (any, error) {
	var f Folder
	var names []string
	names, f.More = p.desk.shelf.list()
	for _, n := range names {
		st := p.desk.shelf.get(n)
		s := Shelved{File: n, Problem: st.Problem, Load: st.Load, First: p.desk.firstView(n)}
		for _, x := range st.Findings {
			switch x.Severity.String() {
			case "error":
				s.Errors++
			case "warning":
				s.Warnings++
			}
		}
		switch {
		case st.Kind == "load":
			f.Loads = append(f.Loads, s)
		case st.Kind == "station":
			f.Crews = append(f.Crews, s)
		case st.Plan != nil && st.Plan.Plan.Incident.Name != "":
			s.Incident, s.Seats = st.Plan.Plan.Incident, len(st.Plan.Cards)
			f.add(s)
		default:
			f.Broken = append(f.Broken, s)
		}
	}
	for _, fire := range f.Fires {
		slices.SortStableFunc(fire.Plans, func(a, b Shelved) int {
			return cmp.Or(b.Incident.From.Compare(a.Incident.From), cmp.Compare(b.Incident.Period, a.Incident.Period), cmp.Compare(b.Incident.Revision, a.Incident.Revision))
		})
	}
	slices.SortStableFunc(f.Fires, func(a, b Fire) int {
		return b.Plans[0].Incident.From.Compare(a.Plans[0].Incident.From)
	})
	slices.SortStableFunc(f.Loads, func(a, b Shelved) int { return cmp.Compare(edition(b), edition(a)) })
	return &f, nil
}

// edition orders loads.
func edition(s Shelved) string {
	if s.Load == nil {
		return ""
	}
	return s.Load.About.Edition + " " + path.Base(s.File)
}

// add puts a plan to the others of its incident.
func (f *Folder) add(s Shelved) {
	in := s.Incident
	for i := range f.Fires {
		fire := &f.Fires[i]
		if changes.SameIncident(&fire.Plans[0].Incident, &in) {
			fire.Number = cmp.Or(fire.Number, in.Number)
			fire.Plans = append(fire.Plans, s)
			return
		}
	}
	f.Fires = append(f.Fires, Fire{in.Name, in.Number, []Shelved{s}})
}
