package desk

import (
	"crypto/subtle"
	"fmt"
	"io"
	"log"
	"net/http"
	"strings"
)

// Who may talk to the desk. The address that is printed holds a random token, once;
// it becomes a cookie that no other site can send and no script can read. Whoever has
// neither gets 403 and nothing happens.

// maxBody bounds what a page may send, in bytes: a photograph is the largest.
const maxBody = 32 << 20

var discardLog = log.New(io.Discard, "", 0)

// policy lets a page load from the desk alone: no script, style or picture of its own
// text, nothing from elsewhere, in no frame. A picture out of a canvas is a blob.
const policy = "default-src 'self'; img-src 'self' blob:; media-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// cookie is of one desk: cookies do not tell ports apart.
func (d *desk) cookie() string { return fmt.Sprintf("slotcard-desk-%d", d.port) }

// entrance is the first address.
func (d *desk) entrance() string { return d.origin() + "/enter/" + d.token }

func (d *desk) origin() string { return fmt.Sprintf("http://127.0.0.1:%d", d.port) }

// ServeHTTP lets in who may, and hands on to the views.
func (d *desk) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	// A name of somebody else's that leads here is a page of theirs that talks to us.
	if port := fmt.Sprintf(":%d", d.port); r.Host != "127.0.0.1"+port && r.Host != "localhost"+port {
		d.forbid(w, "this address is not the desk's")
		return
	}
	if err := d.crossOrigin.Check(r); err != nil {
		d.forbid(w, "another page asked for this")
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxBody)
	if given, ok := strings.CutPrefix(r.URL.Path, "/enter/"); ok {
		d.enter(w, r, given)
		return
	}
	c, err := r.Cookie(d.cookie())
	if err != nil || !same(c.Value, d.token) {
		d.forbid(w, "open the desk by the address that slotcard printed")
		return
	}
	defer d.fault(w, r)
	d.mux.ServeHTTP(w, r)
}

// fault says that something went wrong in the desk itself, to the page and where the
// desk was started. Files are written whole or not at all, whatever happens.
func (d *desk) fault(w http.ResponseWriter, r *http.Request) {
	fault := recover()
	if fault == nil {
		return
	}
	if fault == http.ErrAbortHandler {
		panic(fault)
	}
	d.Tell("slotcard: a fault of the desk at %s: %v", r.URL.Path, fault)
	http.Error(w, "slotcard: a fault of the desk itself; no file is half written: go back and try another way, or the command line", http.StatusInternalServerError)
}

// enter makes the token of the first address a cookie, and leaves the address behind.
func (d *desk) enter(w http.ResponseWriter, r *http.Request, given string) {
	if r.Method != http.MethodGet || !same(given, d.token) {
		d.forbid(w, "open the desk by the address that slotcard printed")
		return
	}
	http.SetCookie(w, &http.Cookie{Name: d.cookie(), Value: d.token, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	// A page, not a redirect: a browser that comes from another program counts the
	// whole chain of redirects as cross-site and would hold the strict cookie back.
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Refresh", "0; url="+d.first)
	_ = d.templates["enter"].ExecuteTemplate(w, "enter", d.first)
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

func (d *desk) forbid(w http.ResponseWriter, why string) {
	http.Error(w, "slotcard: "+why, http.StatusForbidden)
}
