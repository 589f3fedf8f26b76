// Command slotcard turns an incident's channel plan into pocket cards, a wall
// sheet and hand-out sheets, and proves that they are right.
//
// Start with run in root.go. Everything that is said to the person at the
// keyboard stands in voice.go, every file is opened and written in files.go.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
