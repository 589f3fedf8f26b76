package main

import (
	"bytes"
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

func BenchmarkCheckExample(b *testing.B) {
	benchmark(b, "check", filepath.FromSlash(example))
}

func BenchmarkPrintExample(b *testing.B) {
	benchmark(b, "print", filepath.FromSlash(example), "-o", b.TempDir())
}
