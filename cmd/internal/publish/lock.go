package publish

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"slotcard/cmd/internal/files"
	"slotcard/cmd/internal/voice"
)

// lockName is the file that says who writes into a folder. It is there as long as
// that takes, and grows all the while: one that no longer does is of a run that was
// killed, wherever it ran. Clocks of two computers are never compared.
const lockName = ".slotcard-lock"

// How often a run shows that it lives, how long another one waits for that, and how
// long it waits for one that lives. Our choice.
var (
	beat     = time.Second
	deadFor  = 10 * time.Second
	patience = 2 * time.Minute
)

// owner is what stands in a lock.
type owner struct {
	Host  string `json:"host"` // with what tells apart containers and starts of the computer
	PID   int    `json:"pid"`
	Nonce string `json:"nonce"`
	Since string `json:"since"` // for people
}

// lock is a folder that this run writes into.
type lock struct {
	path  string
	nonce string
	stop  chan struct{}
	done  chan struct{}
}

// mine are the locks of this process, by nonce.
var mine sync.Map

// lockDir waits until nobody else writes into a folder.
func lockDir(ctx context.Context, dir string) (*lock, error) {
	l := &lock{path: filepath.Join(dir, lockName), nonce: fmt.Sprintf("%016x", rand.Uint64()), stop: make(chan struct{}), done: make(chan struct{})}
	began, changed := time.Now(), time.Now()
	var seen []byte
	for {
		err := l.take()
		if err == nil {
			go l.beat()
			return l, nil
		}
		if errors.Is(err, fs.ErrNotExist) { // whoever made the folder has removed it again
			if _, err := makeDir(dir); err != nil {
				return nil, err
			}
			if time.Since(began) < deadFor {
				continue
			}
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
		there, err := os.ReadFile(l.path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if !bytes.Equal(there, seen) {
			seen, changed = there, time.Now()
		}
		who := ownerOf(there)
		switch {
		case who.gone() || time.Since(changed) > deadFor:
			l.breakOpen(there)
			continue
		case time.Since(began) > patience:
			return nil, files.Fail(dir, "is being written by another slotcard, "+who.String()+"; wait for it, or end it", nil)
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(min(beat, 20*time.Millisecond)):
		}
	}
}

// take makes the lock where there is none.
func (l *lock) take() error {
	mine.Store(l.nonce, true)
	f, err := os.OpenFile(l.path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err == nil {
		text, _ := json.Marshal(owner{identity(), os.Getpid(), l.nonce, time.Now().Format(time.TimeOnly)})
		_, err = f.Write(append(text, '\n'))
		if e := f.Close(); err == nil {
			err = e
		}
		if err != nil {
			os.Remove(l.path)
		}
	}
	if err != nil {
		mine.Delete(l.nonce)
	}
	return err
}

// beat shows that this run lives.
func (l *lock) beat() {
	defer close(l.done)
	for {
		select {
		case <-l.stop:
			return
		case <-time.After(beat):
			if f, err := os.OpenFile(l.path, os.O_WRONLY|os.O_APPEND, 0); err == nil {
				_, _ = f.WriteString(".")
				f.Close()
			}
		}
	}
}

// held tells whether the lock is still that of this run: one that slept for long may
// have been taken for dead.
func (l *lock) held() bool {
	there, err := os.ReadFile(l.path)
	return err == nil && ownerOf(there).Nonce == l.nonce
}

// release ends the lock.
func (l *lock) release() {
	close(l.stop)
	<-l.done
	if l.held() {
		os.Remove(l.path)
	}
	mine.Delete(l.nonce)
}

// breakOpen removes the lock of a run that is gone, unless it has become another's.
func (l *lock) breakOpen(dead []byte) {
	aside := beside(filepath.Dir(l.path))
	if os.Rename(l.path, aside) != nil {
		return // somebody else was faster
	}
	there, err := os.ReadFile(aside)
	if err == nil && ownerOf(there).Nonce != ownerOf(dead).Nonce {
		if os.Link(aside, l.path) != nil { // back to whom it belongs
			_ = os.Rename(aside, l.path)
			return
		}
	}
	os.Remove(aside)
}

func ownerOf(text []byte) (o owner) {
	first, _, _ := bytes.Cut(text, []byte("\n"))
	_ = json.Unmarshal(first, &o) // one that broke off is nobody's
	return o
}

// gone tells that the owner ran here and does not any more.
func (o owner) gone() bool {
	if o.Host == "" || o.Host != identity() {
		return false
	}
	if o.PID == os.Getpid() {
		_, lives := mine.Load(o.Nonce)
		return !lives
	}
	return !running(o.PID)
}

func (o owner) String() string {
	host, _, _ := strings.Cut(o.Host, " ")
	if host == "" {
		return "of which nothing is known"
	}
	return fmt.Sprintf("process %d on %s, since %s", o.PID, voice.Name(host), voice.Name(o.Since))
}

// identity is where a process number means this process: the computer, since it was
// started, and the container.
var identity = sync.OnceValue(func() string {
	host, err := os.Hostname()
	if err != nil || host == "" {
		return ""
	}
	boot, _ := os.ReadFile("/proc/sys/kernel/random/boot_id")
	space, _ := os.Readlink("/proc/self/ns/pid")
	return strings.Join([]string{strings.ReplaceAll(host, " ", "-"), strings.TrimSpace(string(boot)), space}, " ")
})
