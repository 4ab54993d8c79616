package pages

import (
	"crypto/rand"
	"encoding/base64"
	"net/http"
	"unicode"
	"unicode/utf8"
)

const nameCookie = "fairwindow_by"

// rememberName saves the typing of a name; it is no proof of who presses.
func rememberName(w http.ResponseWriter, name string) {
	http.SetCookie(w, &http.Cookie{
		Name: nameCookie, Value: base64.RawURLEncoding.EncodeToString([]byte(name)), Path: "/",
		MaxAge: 90 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

func rememberedName(r *http.Request) string {
	cookie, err := r.Cookie(nameCookie)
	if err != nil {
		return ""
	}
	name, err := base64.RawURLEncoding.DecodeString(cookie.Value)
	if err != nil || !utf8.Valid(name) || len(name) > 100 {
		return ""
	}
	return string(name)
}

// newOnce is the id of one form as it was handed out: pressed twice, it counts once.
func newOnce() string { return rand.Text() }

func capital(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[size:]
}
