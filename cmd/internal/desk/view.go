package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"slotcard/cmd/internal/report"
	"slotcard/cmd/internal/voice"
	"slotcard/fonts"
	"slotcard/render"
)

// View is a page of the desk, at the address /Name/FILE. It is registered by the init
// of its own file, beside its template templates/Name.html, which defines "main"; and
// that is all it takes.
type View struct {
	Name  string   // in the address and of the template
	Title string   // in the navigation, and what the page is called
	Place int      // in the navigation; 0: not in it
	Kinds []string // of files that it is for: "plan", "load"; "folder" for a folder
	Last  bool     // of a file with errors it shows what was made before them; others show the file as it is
	// Data is what its template gets; an error is shown in its place.
	Data func(p *Page) (any, error)
	// Do are what the page can ask for by a form with a field "do": each does it and
	// returns the address to show then; "" is the page itself.
	Do map[string]func(p *Page) (string, error)
	// Parts are what else lies under its address, /Name/FILE?part=..., such as pictures.
	Parts map[string]func(p *Page, w http.ResponseWriter) error
}

var registered = map[string]*View{}

// register adds a view; to be called from init.
func register(v *View) {
	if registered[v.Name] != nil {
		panic("two views are called " + v.Name)
	}
	registered[v.Name] = v
}

// Page is one showing of a view.
type Page struct {
	View    *View
	File    string // in the folder, with slashes; "": the folder
	State   *State // of the file; nil for the folder
	NoKeys  bool   // letters and figures press nothing
	Theme   string // "light", "dark", "red" or "": as the machine is set
	Data    any
	Problem string // in place of the data
	Failed  string // why what was asked for was not done; the page is shown all the same
	Request *http.Request

	desk   *desk
	breaks []string // plans that a change of the load was refused for
}

// Ctx ends when nobody waits for the page any more.
func (p *Page) Ctx() context.Context { return p.Request.Context() }

// Standing says what a page shows of a file with errors.
func (p *Page) Standing() string {
	last := p.View.Last && p.State.Good != nil
	switch {
	case last && p.State.Problem != "":
		return "What you see is from " + p.State.Good.At.Format(time.TimeOnly) + ", when it could be read"
	case last:
		return "The file has errors: what you see is from " + p.State.Good.At.Format(time.TimeOnly) + ", before them"
	case p.State.Problem != "":
		return "Nothing can be printed until it can be read"
	}
	return "The file has errors: nothing can be printed until they are gone"
}

// Ask is a value of the address or form; Ask("x") of one that is not given is "".
func (p *Page) Ask(name string) string { return p.Request.FormValue(name) }

// Nav are the views of the same file, in order.
func (p *Page) Nav() (views []*View) {
	for _, v := range registered {
		if v.Place > 0 && slices.Contains(v.Kinds, p.kind()) {
			views = append(views, v)
		}
	}
	slices.SortFunc(views, func(a, b *View) int { return a.Place - b.Place })
	return views
}

func (p *Page) kind() string {
	switch {
	case p.State == nil:
		return "folder"
	case p.State.Kind == "":
		return "plan" // what cannot be read shows why
	}
	return p.State.Kind
}

// At is the address of a view of the same file, with the questions of pairs of name
// and value.
func (p *Page) At(view string, pairs ...any) string {
	return address(view, p.File, pairs...)
}

// address is that of a view of a file.
func address(view, file string, pairs ...any) string {
	u := url.URL{Path: "/" + view + "/" + file}
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if v := fmt.Sprint(pairs[i+1]); v != "" {
			q.Set(fmt.Sprint(pairs[i]), v)
		}
	}
	u.RawQuery = q.Encode()
	return u.String()
}

// With is the address of this page with some questions asked otherwise.
func (p *Page) With(pairs ...any) string {
	q := p.Request.URL.Query()
	for i := 0; i+1 < len(pairs); i += 2 {
		if v := fmt.Sprint(pairs[i+1]); v != "" {
			q.Set(fmt.Sprint(pairs[i]), v)
		} else {
			q.Del(fmt.Sprint(pairs[i]))
		}
	}
	u := url.URL{Path: p.Request.URL.Path, RawQuery: q.Encode()}
	return u.String()
}

// Heading is what the file is, as its paper says.
func (p *Page) Heading() string {
	switch {
	case p.State == nil && p.View.Name != "folder":
		return p.View.Title
	case p.State == nil:
		return "Fires in this folder"
	case p.State.Plan != nil && p.State.Plan.Plan.Incident.Name != "":
		return p.State.Plan.Plan.Incident.Name
	case p.State.Good != nil && p.State.Good.Plan != nil:
		return p.State.Good.Plan.Plan.Incident.Name
	case p.State.Load != nil && p.State.Load.About.Name != "":
		return p.State.Load.About.Name
	}
	return p.File
}

// Others are other desks that have the same file open.
func (p *Page) Others() bool { return p.desk.presence.others(p.File) }

// Seen tells what the page shows from what it will show when something has changed.
func (p *Page) Seen() string { return p.desk.version(p.File) }

// Folder is the address of the folder.
func (p *Page) Folder() string { return "/folder/" }

// PlansBeside are the other plans in the folder of this one.
func (p *Page) PlansBeside() (files []string) {
	names, _ := p.desk.shelf.list()
	for _, n := range names {
		if n != p.File && path.Dir(n) == path.Dir(p.File) {
			if st := p.desk.shelf.get(n); st.Kind == "plan" {
				files = append(files, n)
			}
		}
	}
	return files
}

var functions = template.FuncMap{
	"count": func(n int, one, many string) string { return voice.Count(n, one, many) },
	"add":   func(a, b int) int { return a + b },
	"base":  path.Base,
	"seq": func(n int) (all []int) {
		for i := range n {
			all = append(all, i)
		}
		return all
	},
	"at": func(all []string, i int) string { // of rows that may be shorter
		if i < len(all) {
			return all[i]
		}
		return ""
	},
	"cells":   report.ListRow.Cells,
	"join":    strings.Join,
	"address": func(view, file string, pairs ...any) string { return address(view, file, pairs...) },
	"upper":   upperFirst,
}

// upperFirst begins a sentence with a capital, unless it begins with the name of a file.
func upperFirst(s string) string {
	word, _, _ := strings.Cut(s, " ")
	if strings.ContainsAny(strings.TrimRight(word, ".:,;"), "./\\") {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

// parse reads the templates: one frame, and in it the main part of each view.
func parse() map[string]*template.Template {
	frame := template.Must(template.New("frame").Funcs(functions).ParseFS(embedded, "templates/frame.html"))
	all := map[string]*template.Template{"enter": template.Must(template.New("").ParseFS(embedded, "templates/enter.html"))}
	for name := range registered {
		t := template.Must(frame.Clone())
		all[name] = template.Must(t.ParseFS(embedded, "templates/"+name+".html"))
	}
	return all
}

// desk is an open desk.
type desk struct {
	Options
	port        int
	token       string
	first       string // address of the first page
	mux         *http.ServeMux
	crossOrigin *http.CrossOriginProtection
	templates   map[string]*template.Template
	shelf       *shelf
	pages       *pages
	presence    *presence
	printed     printed
	proofs      proofs
	drafts      kept[Drafted]
	imports     kept[importing]
	told        kept[[]string] // what a change of a load does to plans
	building    sync.Mutex     // held while a file is changed
	tables      tables
	writing     sync.Mutex        // one change of a file at a time
	answers     map[string]string // of check-in tables, the last; with tables.mu
	ctx         context.Context
}

func newDesk(ctx context.Context, o Options, port int, token string) *desk {
	d := &desk{
		Options: o, port: port, token: token, ctx: ctx,
		mux: http.NewServeMux(), crossOrigin: http.NewCrossOriginProtection(), templates: parse(),
		shelf: newShelf(o.Folder), pages: newPages(), presence: newPresence(o.Folder),
	}
	d.first = "/folder/"
	if o.File != "" {
		d.first = address(d.firstView(o.File), o.File)
	}
	d.mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, d.first, http.StatusSeeOther) })
	d.mux.HandleFunc("GET /static/{name...}", d.static)
	d.mux.HandleFunc("GET /live/{file...}", d.live)
	d.mux.HandleFunc("POST /switch", d.flip)
	for _, v := range registered {
		d.mux.HandleFunc("GET /"+v.Name+"/{file...}", func(w http.ResponseWriter, r *http.Request) { d.show(w, r, v) })
		d.mux.HandleFunc("POST /"+v.Name+"/{file...}", func(w http.ResponseWriter, r *http.Request) { d.do(w, r, v) })
	}
	return d
}

func (d *desk) close() { d.presence.close() }

// firstView is where a file is opened: a plan with errors at what is wrong with it.
func (d *desk) firstView(file string) string {
	switch st := d.shelf.get(file); {
	case st.Broken():
		return "findings"
	case st.Kind == "load":
		return "load"
	case st.Kind == "station":
		return "details"
	}
	return "cards"
}

// page is the page of a request; nil: the answer is given.
func (d *desk) page(w http.ResponseWriter, r *http.Request, v *View) *Page {
	p := &Page{View: v, Request: r, desk: d, Theme: theme(r), NoKeys: noKeys(r), File: r.PathValue("file")}
	if p.File == "" {
		if !slices.Contains(v.Kinds, "folder") {
			http.NotFound(w, r)
			return nil
		}
		return p
	}
	if p.File = path.Clean(p.File); !d.mayOpen(p.File) && !d.shelf.lost(p.File) {
		d.forbid(w, "that is no plan or load of the folder that is open")
		return nil
	}
	p.State = d.shelf.get(p.File)
	return p
}

// mayOpen tells whether a name may be one of a plan, load or station file: nothing
// else is ever shown.
func (d *desk) mayOpen(name string) bool {
	if path.Ext(name) != ".toml" || !isLocal(name) {
		return false
	}
	info, err := d.Folder.Stat(name)
	return err == nil && info.Mode().IsRegular()
}

func (d *desk) show(w http.ResponseWriter, r *http.Request, v *View) {
	p := d.page(w, r, v)
	if p == nil {
		return
	}
	if part := r.URL.Query().Get("part"); part != "" {
		give := v.Parts[part]
		if give == nil {
			http.NotFound(w, r)
			return
		}
		if err := give(p, w); err != nil {
			http.Error(w, "slotcard: "+err.Error(), http.StatusUnprocessableEntity)
		}
		return
	}
	d.render(w, p, http.StatusOK)
}

// render writes the page whole, or says what went wrong.
func (d *desk) render(w http.ResponseWriter, p *Page, status int) {
	if p.Problem == "" && p.View.Data != nil {
		var err error
		if p.Data, err = p.View.Data(p); err != nil {
			p.Problem = err.Error()
		}
	}
	var b bytes.Buffer
	if err := d.templates[p.View.Name].ExecuteTemplate(&b, "frame", p); err != nil {
		http.Error(w, "slotcard: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}

// do does what a form asks for, then shows the page that follows.
func (d *desk) do(w http.ResponseWriter, r *http.Request, v *View) {
	p := d.page(w, r, v)
	if p == nil {
		return
	}
	if err := r.ParseMultipartForm(maxBody); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		p.Failed = "what the page sent cannot be read, or is too large"
		d.render(w, p, http.StatusRequestEntityTooLarge)
		return
	}
	if r.MultipartForm != nil {
		defer r.MultipartForm.RemoveAll()
	}
	do := v.Do[r.FormValue("do")]
	if do == nil {
		http.NotFound(w, r)
		return
	}
	next, err := do(p)
	switch {
	case err != nil:
		p.Failed = err.Error()
		d.render(w, p, http.StatusUnprocessableEntity)
	case next == "":
		http.Redirect(w, r, address(v.Name, p.File), http.StatusSeeOther)
	default:
		http.Redirect(w, r, next, http.StatusSeeOther)
	}
}

// themes are the ways to show a page: by day, at night, and for eyes that must stay
// used to the dark.
var themes = []string{"light", "dark", "red"}

const themeCookie = "slotcard-theme"

func theme(r *http.Request) string {
	if c, err := r.Cookie(themeCookie); err == nil && slices.Contains(themes, c.Value) {
		return c.Value
	}
	return ""
}

// keysCookie is there where single keys are switched off: whoever speaks to the
// computer, or presses keys by accident, needs that (WCAG 2.2, 2.1.4).
const keysCookie = "slotcard-keys"

func noKeys(r *http.Request) bool {
	c, err := r.Cookie(keysCookie)
	return err == nil && c.Value == "off"
}

// flip keeps how pages are shown, and goes back to the page.
func (d *desk) flip(w http.ResponseWriter, r *http.Request) {
	for _, s := range []struct {
		field, cookie string
		values        []string
	}{{"theme", themeCookie, themes}, {"keys", keysCookie, []string{"on", "off"}}} {
		if v := r.FormValue(s.field); slices.Contains(s.values, v) {
			http.SetCookie(w, &http.Cookie{Name: s.cookie, Value: v, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
		}
	}
	back := r.FormValue("back")
	if !strings.HasPrefix(back, "/") || strings.HasPrefix(back, "//") || strings.Contains(back, `\`) {
		back = "/"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

// statics are the files that pages need, by name: nothing else is there, and there is
// no list of them.
var statics = map[string]string{
	"desk.css":    "text/css; charset=utf-8",
	"desk.js":     "text/javascript; charset=utf-8",
	"icon.svg":    "image/svg+xml",
	"htmx.min.js": "text/javascript; charset=utf-8",
}

func (d *desk) static(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	w.Header().Set("Cache-Control", "private, max-age=3600")
	if name == "faces.css" {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = fmt.Fprint(w, render.SVGStyle(func(f fonts.Face) string { return "/static/" + faceName(f) }))
		return
	}
	for _, f := range fonts.All() {
		if name == faceName(f) {
			w.Header().Set("Content-Type", "font/ttf")
			_, _ = w.Write(f.Data())
			return
		}
	}
	kind, ok := statics[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	file := "static/" + name
	if name == "htmx.min.js" {
		file = "static/vendor/htmx.org/" + name
	}
	data, err := embedded.ReadFile(file)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", kind)
	_, _ = w.Write(data)
}

// faceName is what the file of a typeface is called in an address.
func faceName(f fonts.Face) string { return fmt.Sprintf("face-%d.ttf", f) }
