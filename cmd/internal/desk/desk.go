// Package desk shows a folder of plans and loads in a browser on this machine: their
// cards as they will print, what the checks say, and what can be made of them.
// Start with [Serve]; each page is a [View], a file that registers itself.
//
// The desk has no rule of its own. What it shows comes from the packages that make
// the papers and the findings, and what it does, but for edits, is the command line
// of slotcard, run in this process: so both make the same bytes.
//
// Nothing but a browser on this machine that was given the address may talk to it
// (guard.go), and it reads and writes nothing outside of its folder.
package desk

import (
	"context"
	"crypto/rand"
	"embed"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"time"
)

//go:embed static templates
var embedded embed.FS

// Options say what is opened, and how.
type Options struct {
	Folder *os.Root // what it may read and write; the process stands in it
	File   string   // of the folder, to begin with; "": the folder itself

	Port int  // 0: a free one
	Stay bool // goes on when the last page is closed

	// Run is the program: arguments as on the command line, with files in the folder.
	Run func(ctx context.Context, folder *os.Root, args []string, stdin io.Reader, stdout, stderr io.Writer) int
	// Usage is what a flag of a command means; nil: nobody knows.
	Usage func(command, flag string) string
	// Browse opens an address in a browser; nil: nobody wants that.
	Browse func(address string) error
	// Tell says something about the run; see voice.
	Tell func(format string, args ...any)
}

// idle is how long after the last page was closed the desk ends.
const idle = 20 * time.Second

// Serve opens the desk, and returns when it is closed: by ctx, or when its last page
// has been closed for a while.
func Serve(ctx context.Context, o Options) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	listener, err := new(net.ListenConfig).Listen(ctx, "tcp4", fmt.Sprintf("127.0.0.1:%d", o.Port))
	if err != nil {
		return fmt.Errorf("port %d of this machine cannot be opened: another program may have it; leave out --port for a free one: %w", o.Port, err)
	}
	d := newDesk(ctx, o, listener.Addr().(*net.TCPAddr).Port, rand.Text())
	defer d.close()
	// What goes wrong with a connection is between it and us: a log line could hold
	// an address with the token in it.
	server := &http.Server{
		Handler:           d,
		ReadHeaderTimeout: 10 * time.Second,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          discardLog,
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	o.Tell("the desk is open at %s", d.entrance())
	o.Tell("close it with Ctrl-C%s", map[bool]string{false: ", or close its last page"}[o.Stay])
	if o.Browse != nil {
		if err := o.Browse(d.entrance()); err != nil {
			o.Tell("no browser could be started: open that address yourself")
		}
	}
	go d.watch(ctx)
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	var ended error
	select {
	case <-ctx.Done():
	case <-d.left(ctx, o.Stay):
		o.Tell("the last page was closed: the desk is closed")
	case ended = <-done:
	}
	cancel() // ends what is live
	stop, stopped := context.WithTimeout(context.Background(), 2*time.Second)
	defer stopped()
	_ = server.Shutdown(stop)
	if ended != nil && !errors.Is(ended, http.ErrServerClosed) {
		return ended
	}
	return nil
}

// left is closed when the last page has been closed for a while. It never is where
// the desk stays, and not before a page was open.
func (d *desk) left(ctx context.Context, stay bool) <-chan struct{} {
	gone := make(chan struct{})
	if stay {
		return gone
	}
	go func() {
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
				if d.pages.closedFor() > idle {
					close(gone)
					return
				}
			}
		}
	}()
	return gone
}
