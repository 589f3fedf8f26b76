package main

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/inconshreveable/mousetrap"
	"github.com/pkg/browser"
	"github.com/spf13/cobra"

	"slotcard/cmd/internal/desk"
	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/papers"
	"slotcard/cmd/internal/voice"
)

func init() { registerCommand(7, (*app).deskCommand) }

// deskFlags are the flags of desk.
type deskFlags struct {
	port            int
	noBrowser, stay bool
}

func (a *app) deskCommand() *cobra.Command {
	var f deskFlags
	cmd := &cobra.Command{
		Use:   "desk [PLAN|LOAD|FOLDER]",
		Short: "shows plan, cards and findings in a browser on this machine",
		Long: `desk opens a page in the browser of this machine: the cards as they will print,
what is wrong with the plan and what to do about it, every sheet, and the print
itself. It needs no network: nothing but a browser on this machine can reach it, and
only by the address that it prints.

The file stays the truth. Change it in an editor, and the page shows it as soon as
it is saved; a file with errors leaves the last good cards there, grayed.

It reads and writes only what is in the folder that is open. Given a plan, that is
the folder that holds it and its load. It ends with Ctrl-C, or a while after its last
page was closed. slotcard started by a double-click opens its own folder.`,
		Example: `  slotcard desk
  slotcard desk fire/plan.toml`,
		Args: atMost(1, "one plan, load or folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			name := "."
			if len(args) > 0 {
				name = args[0]
			}
			a.closes.Store(true)
			return a.runDesk(cmd.Context(), name, f)
		},
		ValidArgsFunction: tomlArgs,
	}
	cmd.Flags().IntVar(&f.port, "port", 0, "`PORT` of this machine to open (default: a free one)")
	cmd.Flags().BoolVar(&f.noBrowser, "no-browser", false, "only print the address")
	cmd.Flags().BoolVar(&f.stay, "stay", false, "go on when the last page is closed")
	return cmd
}

func (a *app) runDesk(ctx context.Context, name string, f deskFlags) error {
	if f.port < 0 || f.port > 65535 {
		return usagef("--port %d: a port is 1 to 65535", f.port)
	}
	dir, file, err := a.deskFolder(name)
	if err != nil {
		return err
	}
	// Names in messages are then those that one would type in that folder.
	if err := os.Chdir(dir); err != nil {
		return files.Fail(dir, voice.Reason(err), err)
	}
	root, err := os.OpenRoot(".")
	if err != nil {
		return files.Fail(dir, voice.Reason(err), err)
	}
	defer root.Close()
	o := desk.Options{Folder: root, File: file, Port: f.port, Stay: f.stay, Run: runWithin, Usage: flagUsage, Tell: a.voice.Tell}
	if !f.noBrowser {
		browser.Stdout, browser.Stderr = io.Discard, io.Discard
		o.Browse = browser.OpenURL
	}
	if err := desk.Serve(ctx, o); err != nil {
		return err
	}
	return nil
}

// doubleClicked tells whether the program was started without anybody who could read
// what it says: from the explorer, whose window would close at once, or by a file
// manager, which leaves it neither a terminal nor a pipe nor a file.
func doubleClicked(stdin io.Reader, stdout, stderr io.Writer) bool {
	if mousetrap.StartedByExplorer() {
		return true
	}
	for _, stream := range []any{stdin, stdout, stderr} {
		f, ok := stream.(*os.File)
		if !ok {
			return false
		}
		info, err := f.Stat()
		if err != nil {
			return false
		}
		null, err := os.Stat(os.DevNull)
		nobody := err == nil && os.SameFile(info, null) || info.Mode()&os.ModeSocket != 0
		if !nobody {
			return false
		}
	}
	return true
}

// flagUsage is what the help of a command says about a flag, on one line.
func flagUsage(command, flag string) string {
	cmd, _, err := new(app).root().Find([]string{command})
	if err != nil {
		return ""
	}
	f := cmd.Flags().Lookup(flag)
	if f == nil {
		return ""
	}
	return strings.Join(strings.Fields(strings.ReplaceAll(f.Usage, "`", "")), " ")
}

// besideProgram opens the desk in the folder of the program.
func (a *app) besideProgram(ctx context.Context) error {
	program, err := os.Executable()
	if err != nil {
		return err
	}
	return a.runDesk(ctx, filepath.Dir(program), deskFlags{})
}

// runWithin is the program on files of a folder and no others, in which it stands.
func runWithin(ctx context.Context, folder *os.Root, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return runWith(ctx, files.NewReaderWithin(ctx, stdin, folder), args, stdin, stdout, stderr)
}

// deskFolder is the folder to open, and the file in it to begin with. That of a plan
// is the nearest one that holds its load and station file, too.
func (a *app) deskFolder(name string) (dir, file string, err error) {
	info, err := os.Stat(name)
	if err == nil && info.IsDir() {
		return name, "", nil
	}
	if filepath.Ext(name) != ".toml" && err == nil {
		return "", "", files.Fail(name, "is no plan or load: their names end in .toml", nil)
	}
	if filepath.Ext(name) != ".toml" && errors.Is(err, fs.ErrNotExist) {
		return "", "", files.Fail(name, "no such file or folder; name a plan, a load or the folder they are in", err)
	}
	if _, _, _, err := papers.Check(a.reader, name); err != nil {
		if _, unread := a.reader.ReadFile(name); unread != nil {
			return "", "", unread
		}
	}
	whole, err := filepath.Abs(name)
	if err != nil {
		return "", "", files.Fail(name, voice.Reason(err), err)
	}
	dir = filepath.Dir(whole)
	for _, n := range a.reader.Read() {
		needed, err := filepath.Abs(n)
		if err != nil || filepath.VolumeName(needed) != filepath.VolumeName(whole) || !files.IsRegular(needed) {
			continue
		}
		for !inFolder(dir, needed) {
			dir = filepath.Dir(dir)
		}
	}
	rel, err := filepath.Rel(dir, whole)
	if err != nil {
		return "", "", files.Fail(name, voice.Reason(err), err)
	}
	return dir, filepath.ToSlash(rel), nil
}

// inFolder tells whether a file lies in a folder or below it.
func inFolder(dir, file string) bool {
	rel, err := filepath.Rel(dir, file)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}
