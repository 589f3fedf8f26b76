// Command slotcard turns an incident's channel plan into pocket cards, a wall
// sheet and hand-out sheets, and proves that they are right.
//
// Start with run in root.go. Each command is a file that registers itself. How it
// speaks, reads, makes paper and writes is in the packages below cmd/internal.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
