// Package notices collects the licenses of everything that is built into
// slotcard: Go's own library, the modules it imports, and the typefaces. Their
// licenses ask that these texts go along with a program that is handed on.
// Start with [Collect]; [Table] is what README.md shows, [Text] what lies beside
// a program that a station hands out.
//
// It asks the go command, so it is for building and testing, not for slotcard
// itself.
package notices

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// Part is something built in that somebody else holds the rights of.
type Part struct {
	Name    string // module path, or what it is
	Version string
	License string // SPDX identifier
	Text    string // the license and its notices, whole
}

// Systems are the operating systems that slotcard is built for.
var Systems = []string{"darwin", "linux", "windows"}

// Collect lists the parts of a program, by name. Root is the folder of this
// module, program the package to build, such as ./cmd/slotcard. It fails where a
// license is missing or is none that it knows: then somebody has to read it.
func Collect(root, program string, systems ...string) ([]Part, error) {
	goRoot, err := output(root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	library, err := read("Go standard library", "", strings.TrimSpace(string(goRoot)))
	if err != nil {
		return nil, err
	}
	parts := []Part{library}
	for _, face := range []string{"Mono", "Next"} {
		text, err := os.ReadFile(filepath.Join(root, "fonts", "data", "OFL-"+face+".txt"))
		if err != nil {
			return nil, err
		}
		parts = append(parts, Part{"Atkinson Hyperlegible " + face, "", "OFL-1.1", string(text)})
	}
	scripts, err := vendored(root)
	if err != nil {
		return nil, err
	}
	parts = append(parts, scripts...)
	seen := map[string]bool{}
	for _, system := range systems {
		modules, err := linked(root, program, system)
		if err != nil {
			return nil, err
		}
		for _, m := range modules {
			if seen[m.Path] {
				continue
			}
			seen[m.Path] = true
			part, err := read(m.Path, m.Version, m.Dir)
			if err != nil {
				return nil, err
			}
			parts = append(parts, part)
		}
	}
	slices.SortFunc(parts, func(a, b Part) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return parts, nil
}

// vendored are the scripts that the pages of the desk hold, each in a folder with its
// license and its package.json.
func vendored(root string) (parts []Part, err error) {
	folders, err := filepath.Glob(filepath.Join(root, "cmd", "internal", "desk", "static", "vendor", "*"))
	if err != nil {
		return nil, err
	}
	for _, folder := range folders {
		data, err := os.ReadFile(filepath.Join(folder, "package.json"))
		if err != nil {
			return nil, err
		}
		var about struct{ Name, Version string }
		if err := json.Unmarshal(data, &about); err != nil {
			return nil, fmt.Errorf("%s: %w", folder, err)
		}
		part, err := read(about.Name, about.Version, folder)
		if err != nil {
			return nil, err
		}
		parts = append(parts, part)
	}
	return parts, nil
}

type module struct{ Path, Version, Dir string }

// linked are the modules that a program for a system is made of, without its own.
func linked(root, program, system string) ([]module, error) {
	out, err := output(root, []string{"GOOS=" + system, "CGO_ENABLED=0"}, "list", "-deps", "-json=Module", program)
	if err != nil {
		return nil, err
	}
	var modules []module
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			Module *struct {
				module
				Main bool
			}
		}
		switch err := d.Decode(&p); {
		case errors.Is(err, io.EOF):
			return modules, nil
		case err != nil:
			return nil, err
		case p.Module != nil && !p.Module.Main:
			modules = append(modules, p.Module.module)
		}
	}
}

func output(root string, env []string, arguments ...string) ([]byte, error) {
	c := exec.Command("go", arguments...)
	c.Dir, c.Env = root, append(os.Environ(), env...)
	var said bytes.Buffer
	c.Stderr = &said
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("go %s: %w: %s", strings.Join(arguments, " "), err, &said)
	}
	return out, nil
}

// read finds the license of a part in its folder.
func read(name, version, folder string) (Part, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return Part{}, err
	}
	var texts []string
	for _, e := range entries {
		upper := strings.ToUpper(e.Name())
		if e.IsDir() || !strings.HasPrefix(upper, "LICEN") && !strings.HasPrefix(upper, "COPYING") && !strings.HasPrefix(upper, "NOTICE") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			return Part{}, err
		}
		texts = append(texts, strings.TrimSpace(string(text)))
	}
	whole := strings.Join(texts, "\n\n")
	license := identify(whole)
	if license == "" {
		return Part{}, fmt.Errorf("%s: no license that is known in %d files: read it, and teach identify", name, len(texts))
	}
	return Part{name, version, license, whole}, nil
}

// marks are phrases of license texts, and the SPDX identifier of the license
// that holds all of them (the texts of the SPDX License List).
var marks = []struct {
	license string
	phrases []string
}{
	{"MPL-2.0", []string{"Mozilla Public License Version 2.0"}},
	{"Apache-2.0", []string{"Apache License Version 2.0"}},
	{"BSD-3-Clause", []string{"Redistributions in binary form must reproduce", "may be used to endorse or promote products"}},
	{"BSD-2-Clause", []string{"Redistributions in binary form must reproduce"}},
	{"0BSD", []string{"Zero-Clause BSD", "Permission to use, copy, modify, and/or distribute this software"}},
	{"ISC", []string{"Permission to use, copy, modify, and/or distribute this software", "the above copyright notice and this permission notice appear"}},
	{"ISC", []string{"Permission to use, copy, modify, and distribute this software", "the above copyright notice and this permission notice appear"}},
	{"MIT", []string{"Permission is hereby granted, free of charge, to any person obtaining a copy"}},
}

// identify names the licenses that a text holds, joined by AND; "" where it
// holds none that is known.
func identify(text string) string {
	plain := strings.Join(strings.Fields(strings.ReplaceAll(text, ",", ", ")), " ")
	plain = strings.ReplaceAll(plain, "License, Version", "License Version")
	var found []string
	for _, m := range marks {
		has := func(phrase string) bool { return strings.Contains(plain, phrase) }
		part := slices.ContainsFunc(found, func(f string) bool { return strings.HasPrefix(f, "BSD") }) && m.license == "BSD-2-Clause"
		if !part && !slices.Contains(found, m.license) && !slices.ContainsFunc(m.phrases, func(p string) bool { return !has(p) }) {
			found = append(found, m.license)
		}
	}
	return strings.Join(found, " AND ")
}

// Text is every license, for a file beside the program.
func Text(parts []Part) string {
	var b strings.Builder
	b.WriteString("slotcard is built from these parts. Their licenses, which follow, ask to be handed on with it.\n\n")
	for _, p := range parts {
		fmt.Fprintf(&b, "%s (%s)\n", strings.TrimSpace(p.Name+" "+p.Version), p.License)
	}
	for _, p := range parts {
		fmt.Fprintf(&b, "\n%s\n%s\n\n%s\n", strings.Repeat("=", 78), strings.TrimSpace(p.Name+" "+p.Version), strings.TrimSpace(p.Text))
	}
	return b.String()
}
