package publish

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// A folder of prints has two files of its own:
//
//   - the manifest says of each file what it holds and of which state of a plan it is;
//   - the record of a run is there while its files are given their names, from before
//     the first to behind the last. A run that was killed in between left some new and
//     some old: the next one that writes into the folder completes it first.
const (
	manifestName = ".slotcard-print.json"
	recordName   = ".slotcard-commit.json"
)

// Origin is what a print was made of.
type Origin struct {
	State    string `json:"state"` // SHA-256 over plan, load and station file
	Incident string `json:"incident,omitempty"`
	Period   int    `json:"period,omitempty"`
	Revision int    `json:"revision,omitempty"`
	Exercise bool   `json:"exercise,omitempty"`
	Load     bool   `json:"load,omitempty"` // the book of a load
}

func (o Origin) String() string {
	said := fmt.Sprintf("%s, period %d", o.Incident, o.Period)
	if o.Revision > 1 {
		said += fmt.Sprintf(", revision %d", o.Revision)
	}
	if o.Exercise {
		said += ", exercise"
	}
	return said
}

// newer tells whether o is of the same incident as other, and of a later period or
// revision.
func (o Origin) newer(other Origin) bool {
	return !o.Load && !other.Load && o.Incident == other.Incident && o.Exercise == other.Exercise &&
		cmp.Or(cmp.Compare(o.Period, other.Period), cmp.Compare(max(1, o.Revision), max(1, other.Revision))) > 0
}

// Entry is a file of a print.
type Entry struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
	Origin Origin `json:"of"`
}

// manifest is the file of that name.
type manifest struct {
	Version int     `json:"version"`
	Files   []Entry `json:"files"`
}

const manifestVersion = 1

// maxManifest bounds what is read of one: a few thousand pictures.
const maxManifest = 4 << 20

// Holding is what a folder holds of prints.
type Holding struct {
	BrokenOff bool     // a run was killed between its files
	Files     []Entry  // that are there, as they were written
	Changed   []string // that are there, and are not what was written
}

// Look tells what a folder holds of prints. Of one without any it tells nothing.
func Look(dir string) (h Holding) {
	if _, err := os.Lstat(filepath.Join(dir, recordName)); err == nil {
		h.BrokenOff = true
	}
	for _, e := range readManifest(dir).Files {
		switch is, err := sumFile(filepath.Join(dir, e.Name), e.Size); {
		case errors.Is(err, fs.ErrNotExist): // removed by somebody
		case err != nil || is != e.SHA256:
			h.Changed = append(h.Changed, e.Name)
		default:
			h.Files = append(h.Files, e)
		}
	}
	return h
}

// Mixed says what in a folder is not of one print, in a sentence that begins with the
// name of the folder; "" where all is.
func (h Holding) Mixed() string {
	if h.BrokenOff {
		return "holds a print that broke off between its files: some are new, some old"
	}
	type group struct {
		of    Origin
		names []string
	}
	var groups []*group
	for _, e := range h.Files {
		// Strips and change sheets are meant for papers of another state.
		if e.Origin.Load || strings.HasPrefix(e.Name, "strips") || strings.HasPrefix(e.Name, "changes") {
			continue
		}
		i := slices.IndexFunc(groups, func(g *group) bool { return g.of.State == e.Origin.State })
		if i < 0 {
			i, groups = len(groups), append(groups, &group{of: e.Origin})
		}
		groups[i].names = append(groups[i].names, e.Name)
	}
	if len(groups) < 2 && len(h.Changed) == 0 {
		return ""
	}
	said := make([]string, 0, len(groups)+1)
	for _, g := range groups {
		said = append(said, fmt.Sprintf("%s of %s", fewNames(g.names), g.of))
	}
	for i := range said { // of one period and revision, but of a plan that was changed
		if slices.ContainsFunc(groups[:i], func(g *group) bool { return g.of.String() == groups[i].of.String() }) {
			said[i] += ", of another state of the plan"
		}
	}
	if len(h.Changed) > 0 {
		said = append(said, fewNames(h.Changed)+" not as printed there")
	}
	return "is a mixture: " + strings.Join(said, "; ")
}

// Newer is a print of the same incident that is of a later period or revision; nil
// where there is none.
func (h Holding) Newer(of Origin) *Origin {
	for _, e := range h.Files {
		if e.Origin.newer(of) {
			return &e.Origin
		}
	}
	return nil
}

// Past is what [Holding.Mixed] said, of what was so.
func Past(mixed string) string {
	for _, p := range [][2]string{{"holds ", "held "}, {"is ", "was "}} {
		if rest, ok := strings.CutPrefix(mixed, p[0]); ok {
			return p[1] + rest
		}
	}
	return mixed
}

func fewNames(names []string) string {
	const most = 4
	if len(names) > most {
		return strings.Join(names[:most-1], ", ") + fmt.Sprintf(" and %d more", len(names)-most+1)
	}
	return strings.Join(names, ", ")
}

func readManifest(dir string) (m manifest) {
	data, err := readSmall(filepath.Join(dir, manifestName), maxManifest)
	if err != nil || json.Unmarshal(data, &m) != nil || m.Version != manifestVersion {
		return manifest{Version: manifestVersion}
	}
	m.Files = slices.DeleteFunc(m.Files, func(e Entry) bool { return !plainName(e.Name) })
	return m
}

// with is the manifest when these files were written; those that are not there any
// more are dropped.
func (m manifest) with(dir string, outs []File, of Origin) ([]byte, error) {
	now := manifest{Version: manifestVersion}
	for _, e := range m.Files {
		if _, err := os.Lstat(filepath.Join(dir, e.Name)); err == nil && !slices.ContainsFunc(outs, func(f File) bool { return f.Name == e.Name }) {
			now.Files = append(now.Files, e)
		}
	}
	for _, f := range outs {
		now.Files = append(now.Files, Entry{f.Name, int64(len(f.Data)), sum(f.Data), of})
	}
	slices.SortFunc(now.Files, func(a, b Entry) int { return strings.Compare(a.Name, b.Name) })
	data, err := json.MarshalIndent(now, "", "  ")
	return append(data, '\n'), err
}

// record is the file of that name: which temporary file becomes which file.
type record struct {
	Version int    `json:"version"`
	Moves   []move `json:"moves"`
}

type move struct {
	Dir    string `json:"dir,omitempty"` // relative to that of the record; "": that one
	Temp   string `json:"temp"`
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Over   Over   `json:"over"`
}

// complete gives the files of a run that was killed in the middle their names, as far
// as they are in one of these folders: a record may come from anybody, and nothing is
// done for it that this run may not do by itself.
func complete(dir string, dirs []string) {
	path := filepath.Join(dir, recordName)
	data, err := readSmall(path, maxManifest)
	if err != nil {
		return
	}
	var r record
	if json.Unmarshal(data, &r) == nil && r.Version == manifestVersion {
		for _, m := range r.Moves {
			in := filepath.Join(dir, m.Dir)
			if !slices.Contains(dirs, in) || !temporary.MatchString(m.Temp) || !plainName(m.Name) || m.Over > Any {
				continue
			}
			temp := filepath.Join(in, m.Temp)
			if is, err := sumFile(temp, -1); err != nil || is != m.SHA256 {
				continue // it has its name, or is not what was written
			}
			if m.Name != manifestName && Check(in, []string{m.Name}, m.Over) != nil {
				continue
			}
			_ = os.Rename(temp, filepath.Join(in, m.Name))
		}
	}
	os.Remove(path)
	syncDir(dir)
}

// plainName tells the name of a file in the folder itself.
func plainName(name string) bool {
	return name != "" && name != "." && name != ".." && filepath.Base(name) == name && !strings.ContainsAny(name, `/\`)
}

func sum(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:])
}

// sumFile is the sum over a regular file; one of another size is not read.
func sumFile(path string, size int64) (string, error) {
	info, err := os.Lstat(path)
	switch {
	case err != nil:
		return "", err
	case !info.Mode().IsRegular() || size >= 0 && info.Size() != size:
		return "", nil
	}
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// readSmall reads a regular file of at most so many bytes.
func readSmall(path string, most int64) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > most {
		return nil, errors.New("is not what slotcard writes")
	}
	data, err := os.ReadFile(path)
	if bytes.Count(data, []byte("\n")) > 1<<20 {
		return nil, errors.New("is not what slotcard writes")
	}
	return data, err
}
