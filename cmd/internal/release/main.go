// Command release builds slotcard for the computers of a station, into a folder
// that can be carried on a stick: a program for each system, named after version and
// system, SHA256SUMS to check them with, and LICENSES.txt, which goes along wherever a
// program is handed on.
//
//	go run ./cmd/internal/release -o dist
//
// The version is that of the commit, as git describes it, unless -version says it.
// Programs need nothing else on the machine that they run on.
package main

import (
	"crypto/sha256"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"slotcard/cmd/internal/notices"
)

// systems are what a station may have: operating system and processor.
var systems = []string{"linux/amd64", "linux/arm64", "windows/amd64", "windows/arm64", "darwin/amd64", "darwin/arm64"}

func main() {
	out := flag.String("o", "dist", "folder for the programs")
	version := flag.String("version", "", "version (default: as git describes the commit)")
	only := flag.String("only", strings.Join(systems, ","), "systems to build for")
	flag.Parse()
	if err := release(*out, *version, strings.Split(*only, ","), os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// release builds into dir and writes the sums last: a folder with sums is whole.
func release(dir, version string, systems []string, said io.Writer) error {
	if version == "" {
		version = described()
	}
	if !plain.MatchString(version) {
		return fmt.Errorf("version %q: use only letters, digits, dots, hyphens and plus signs", version)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	sums := filepath.Join(dir, "SHA256SUMS")
	if err := os.Remove(sums); err != nil && !os.IsNotExist(err) {
		return err
	}
	var lines strings.Builder
	for _, s := range systems {
		system, processor, ok := strings.Cut(s, "/")
		if !ok {
			return fmt.Errorf("%q is not a system: write something like linux/amd64", s)
		}
		name := fmt.Sprintf("slotcard-%s-%s-%s", version, system, processor)
		if system == "windows" {
			name += ".exe"
		}
		if err := build(filepath.Join(dir, name), version, system, processor); err != nil {
			return err
		}
		sum, size, err := sumOf(filepath.Join(dir, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&lines, "%s  %s\n", sum, name)
		fmt.Fprintf(said, "%s  %.1f MB  %s\n", sum, float64(size)/1e6, filepath.Join(dir, name))
	}
	if err := licenses(filepath.Join(dir, "LICENSES.txt")); err != nil {
		return err
	}
	return os.WriteFile(sums, []byte(lines.String()), 0o666)
}

// licenses writes those of all parts of the programs.
func licenses(file string) error {
	mod, err := exec.Command("go", "env", "GOMOD").Output()
	if err != nil {
		return fmt.Errorf("go env GOMOD: %w", err)
	}
	parts, err := notices.Collect(filepath.Dir(strings.TrimSpace(string(mod))), "./cmd/slotcard", notices.Systems...)
	if err != nil {
		return err
	}
	return os.WriteFile(file, []byte(notices.Text(parts)), 0o666)
}

// plain is a version that can stand in the name of a file.
var plain = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z.+-]*$`)

// described is the commit as git describes it.
func described() string {
	out, err := exec.Command("git", "describe", "--tags", "--always", "--dirty").Output()
	if v := strings.TrimSpace(string(out)); err == nil && v != "" {
		return v
	}
	return "unreleased"
}

// build makes the program for one system. Without paths of this machine the same
// commit gives the same bytes anywhere.
func build(out, version, system, processor string) error {
	flags := "-s -w -X main.released=" + version
	if commit, err := exec.Command("git", "rev-parse", "--short=12", "HEAD").Output(); err == nil {
		flags += " -X main.committed=" + strings.TrimSpace(string(commit)) // go stamps it itself only in a plain clone
	}
	cmd := exec.Command("go", "build", "-trimpath", "-ldflags", flags, "-o", out, "slotcard/cmd/slotcard")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor)
	if said, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s/%s: %w\n%s", system, processor, err, said)
	}
	return nil
}

// sumOf is the SHA-256 sum of a file, in hexadecimal, and its size in bytes.
func sumOf(name string) (sum string, size int64, err error) {
	f, err := os.Open(name)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	if size, err = io.Copy(h, f); err != nil {
		return "", 0, err
	}
	return fmt.Sprintf("%x", h.Sum(nil)), size, nil
}
