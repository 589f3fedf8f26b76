// Command slotcard turns an incident's channel plan into pocket cards, a wall
// sheet and hand-out sheets, and proves that they are right.
//
// Start with run in root.go. Each command is a file that registers itself. How it
// speaks, reads, makes paper and writes is in the packages below cmd/internal.
package main

import (
	"os"
	"runtime"
	"runtime/debug"
)

func main() {
	collectLate()
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// collectLate lets the heap grow to 32 MB before garbage is collected for the first
// time, in place of 4: most commands end before. From then on all is as usual, so that
// what runs for long, or makes much, takes no more memory for it.
func collectLate() {
	if os.Getenv("GOGC") != "" {
		return // somebody has decided
	}
	usual := debug.SetGCPercent(800) // of 4 MB
	runtime.AddCleanup(new([64]byte), func(percent int) { debug.SetGCPercent(percent) }, usual)
}
