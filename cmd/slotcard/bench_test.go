package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// The whole program but for its start, on the larger example.
func benchmark(b *testing.B, args ...string) {
	b.ReportAllocs()
	for b.Loop() {
		var stdout, stderr bytes.Buffer
		if status := run(args, nil, &stdout, &stderr); status != exitFine {
			b.Fatalf("status %d\n%s%s", status, &stdout, &stderr)
		}
	}
}

const example = "../../examples/thimble-gulch/plan.toml"

// BenchmarkGoal measures what a user waits for; its other half is in
// cmd/internal/papers. The goals stand in DEVELOPERS.md.
func BenchmarkGoal(b *testing.B) {
	b.Run("check the example", func(b *testing.B) { benchmark(b, "check", filepath.FromSlash(example)) })
	b.Run("print the example", func(b *testing.B) {
		dir := b.TempDir()
		if err := os.CopyFS(dir, os.DirFS(filepath.Dir(filepath.FromSlash(example)))); err != nil {
			b.Fatal(err)
		}
		benchmark(b, "print", filepath.Join(dir, "plan.toml"))
	})
	b.Run("import 300 channels", func(b *testing.B) {
		list := filepath.Join(b.TempDir(), "list.csv")
		text := []byte("Zone,Ch,Display,RX Freq,RX tone,TX Freq,TX tone\n")
		for i := range 300 {
			rx, tx := 151_000_000+i*12_500, 157_000_000+i*12_500
			text = fmt.Appendf(text, "%d Zone,%d,HM CH %d,%d.%04d,103.5,%d.%04d,146.2\n", 1+i/16, 1+i%16, i+1,
				rx/1_000_000, rx%1_000_000/100, tx/1_000_000, tx%1_000_000/100)
		}
		if err := os.WriteFile(list, text, 0o600); err != nil {
			b.Fatal(err)
		}
		benchmark(b, "import", list, "-o", filepath.Join(b.TempDir(), "load.toml"), "--force")
	})
}
