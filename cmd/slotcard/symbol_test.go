package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A list whose text no QR code holds is found by check, as by print, with cards to print
// and without. 2331 characters are what version 40 holds at level M (ISO/IEC 18004,
// secondary); 38 slots with names of 60 have more.
func TestListTooLongForItsSymbol(t *testing.T) {
	dir := t.TempDir()
	load := "[load]\nname = \"Quillback Range\"\nedition = \"2027\"\ncolor = \"orange\"\neffective = 2027-03-01\nexpires = 2028-03-31\n" +
		"[radio]\nlist_positions = 60\nname_length = 64\nbands = [[136.0, 174.0]]\nmodes = [\"analog\"]\n[[group]]\nnumber = 1\nname = \"Local\"\n"
	plan := "load = \"load.toml\"\n[incident]\nname = \"Thimble Gulch\"\nnumber = \"QB-0412\"\nexercise = true\nperiod = 2\n" +
		"from = 2027-08-14T06:00:00-06:00\nto = 2027-08-14T18:00:00-06:00\nprepared_by = \"R. Okafor\"\nprepared_at = 2027-08-13T20:30:00-06:00\n" +
		"[card]\nscan_limit = 60\n"
	for i := range 38 {
		use, tx, division := "support", "", ""
		switch i {
		case 0:
			use, tx = "command", "tx = 157.6725\n"
		case 1, 2:
			use, division = "tactical", fmt.Sprintf("division = \"%c\"\n", '@'+i)
		case 37:
			use = "guard"
		}
		name := fmt.Sprintf("QB %02d %s", i, strings.Repeat("X", 54))
		load += fmt.Sprintf("[[group.channel]]\nnumber = %d\nname = \"%s\"\nuse = \"%s\"\nrx = %.4f\n%stx_tone = 156.7\n", i+1, name, use, 150.005+float64(i)*0.03, tx)
		plan += fmt.Sprintf("[[slot]]\nchannel = \"%s\"\n%s", name, division)
	}
	plan += "[[division]]\nid = \"A\"\nsupervisor = \"J. Marsh\"\n[[division]]\nid = \"B\"\nsupervisor = \"D. Wren\"\n"
	unit := "[[position]]\nname = \"Engine boss\"\nscan = [\"command\"]\n[[unit]]\nname = \"Engine 611\"\nkind = \"engine type 3\"\ndivision = \"A\"\nseats = { \"Engine boss\" = 1 }\n"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "load.toml"), []byte(load), 0o644))
	for _, more := range []string{"", unit} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.toml"), []byte(plan+more), 0o644))
		for _, command := range []string{"check", "print"} {
			cmd := exec.Command("slotcard", command, "plan.toml")
			cmd.Dir = dir
			out, err := cmd.CombinedOutput()
			require.Error(t, err, "%s", out)
			assert.Equal(t, 1, cmd.ProcessState.ExitCode(), "%s: %s", command, out)
			assert.Contains(t, string(out), "characters, does not fit a QR code, which holds 2331 [does-not-fit]", command)
			assert.NoDirExists(t, filepath.Join(dir, "out"))
		}
	}
}
