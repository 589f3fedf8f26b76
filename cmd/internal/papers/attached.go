package papers

import (
	"bytes"
	"errors"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"slotcard/cmd/internal/files"
	"slotcard/plan"
	"slotcard/plan/numbers"
	"slotcard/plan/tomlfile"
	"slotcard/render"
	"slotcard/render/scan"
)

// What a paper was made from is attached to it: the plan, its load and station file,
// and who has which number, so that a PDF found a week later can be printed again.
// Folders are named neutrally: those of a station's computer are nobody's business.

// Roles of the files that are attached.
const (
	rolePlan    = "plan"
	roleLoad    = "load"
	roleStation = "station"
	roleNumbers = "numbers"
)

// folder is what each folder is called that the plan stands in below its load or
// station file.
const folder = "plan"

// attachments are the files that a job was made from.
func (j *Job) attachments() ([]render.Attachment, error) {
	if j.Request.NoAttach {
		return nil, nil
	}
	var all []render.Attachment
	add := func(role, at, kind string, data []byte) {
		name := path.Base(at)
		for slices.ContainsFunc(all, func(a render.Attachment) bool { return a.Name == name }) {
			name = role + "-" + name
		}
		all = append(all, render.Attachment{Name: name, Path: at, Role: role, Type: kind, Data: data})
	}
	read := func(role, at, name string) error {
		data, err := j.reader.ReadFile(name) // it is kept from when it was opened
		if err == nil {
			add(role, at, "application/toml", data)
		}
		return err
	}
	base := filepath.Base(j.Name)
	if j.Name == files.Stdin {
		base = "plan.toml"
	}
	if j.Load != nil {
		return all, errors.Join(read(roleLoad, base, j.Name))
	}
	dir := ""
	for _, named := range []string{j.Plan.Plan.Load, j.Plan.Plan.Base} {
		up := strings.Count(path.Clean("./"+named)+"/", "../")
		dir = path.Join(dir, strings.Repeat(folder+"/", max(0, up-strings.Count(dir, folder))))
	}
	at := path.Join(dir, base)
	err := read(rolePlan, at, j.Name)
	for _, f := range [][2]string{{roleLoad, j.Plan.Plan.Load}, {roleStation, j.Plan.Plan.Base}} {
		if role, named := f[0], f[1]; named != "" {
			err = errors.Join(err, read(role, path.Join(dir, named), filepath.Join(filepath.Dir(j.Name), filepath.FromSlash(named))))
		}
	}
	if len(j.Plan.Cards) > 0 {
		var b bytes.Buffer
		if e := numbers.Write(&b, numbers.Assign(j.Plan.Cards, j.Numbers.Now, numbers.All)); e != nil {
			err = errors.Join(err, e)
		}
		add(roleNumbers, filepath.ToSlash(numbersFile(at)), "text/csv", b.Bytes())
	}
	return all, err
}

// IsPDF tells whether a file that stands in the place of a plan is a PDF by its name.
func IsPDF(name string) bool { return strings.EqualFold(filepath.Ext(name), ".pdf") }

// Attached makes a PDF that slotcard wrote read as a folder with the files that it
// was made from, and returns the name of the plan in it, of a book that of the load.
// These read nothing but each other. Other names are returned as they are.
func Attached(r *files.Reader, name string) (string, error) {
	if !IsPDF(name) {
		return name, nil
	}
	pdf := filepath.Clean(name)
	data, err := files.ReadRegular(pdf, scan.MaxFile)
	if err != nil {
		return "", err
	}
	attached, err := scan.Attached(data)
	if err != nil {
		return "", files.Fail(name, err.Error(), err)
	}
	held := map[string][]byte{}
	by := map[string]string{}
	for _, f := range attached {
		held[f.Path], by[f.Role] = f.Data, f.Path
		if f.Role != roleNumbers && len(f.Data) > files.MaxTOML {
			return "", files.Fail(name, "holds "+f.Path+", which "+files.TooLarge(files.MaxTOML), nil)
		}
	}
	first := by[rolePlan]
	if first == "" {
		if by[roleLoad] == "" {
			return "", files.Fail(name, scan.ErrNotAttached.Error(), scan.ErrNotAttached)
		}
		first = by[roleLoad]
	}
	var p plan.Plan
	if by[rolePlan] != "" {
		tomlfile.Decode(first, held[first], &p)
	}
	for _, named := range []string{p.Load, p.Base} {
		if named == "" {
			continue
		}
		if at := path.Join(path.Dir(first), named); held[at] == nil {
			return "", files.Fail(name, "the plan in it names "+named+", which is not attached: print from the files themselves", nil)
		}
	}
	r.Unpack(pdf, held)
	return filepath.Join(pdf, filepath.FromSlash(first)), nil
}

// Given is how one names a plan: of an attached one the PDF.
func Given(r *files.Reader, name string) string {
	if pdf := r.Pack(name); pdf != "" {
		return pdf
	}
	return name
}
