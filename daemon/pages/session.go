package pages

import (
	"net/http"
	"strings"

	"fairwindow/daemon/door"
)

// A session's cookie. Over TLS its name binds it to this host and to TLS (RFC 6265bis, the
// prefix __Host-); a browser in the yard's own network may have no TLS.
const (
	sessionCookie       = "fairwindow_session"
	secureSessionCookie = "__Host-" + sessionCookie
)

// overTLS reports whether the person's browser talks TLS, to us or to the server before us.
func overTLS(r *http.Request) bool {
	return r.TLS != nil || strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

func cookieName(r *http.Request) string {
	if overTLS(r) {
		return secureSessionCookie
	}
	return sessionCookie
}

// sessionOf is the word of the session that a browser shows; empty if it shows none that could be one.
func sessionOf(r *http.Request) string {
	cookie, err := r.Cookie(cookieName(r))
	if err != nil || !door.Whole(cookie.Value) {
		return ""
	}
	return cookie.Value
}

// keepSession gives a browser its session; an empty word takes it back. It is kept until the
// browser or the session ends, whichever is first. Lax, and not Strict: who follows a link from a
// mail is to find himself signed in. A form of another site does not bring it along, and no
// page changes anything by being opened.
func keepSession(w http.ResponseWriter, r *http.Request, word string) {
	c := &http.Cookie{Name: cookieName(r), Value: word, Path: "/", HttpOnly: true, Secure: overTLS(r), SameSite: http.SameSiteLaxMode}
	if word == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}
