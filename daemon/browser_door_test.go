package main

import (
	"net/url"
	"testing"

	"github.com/chromedp/chromedp"

	"fairwindow/config"
)

// TestPeopleSignInInABrowser: a manager comes in by an invitation and invites a painter, whose
// session ends while she types in a reading; nothing of it is lost, and the manager reads who
// changed what.
func TestPeopleSignInInABrowser(t *testing.T) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t, config.Person{Name: "Marta", Role: config.Manager}, config.Person{Name: "Ines", Role: config.Painter})
			signInStory(t, y, openTab(t, browser, y.web.url, screen), openTab(t, browser, y.web.url, screen))
		})
	}
}

func signInStory(t *testing.T, y *playedYard, manager, painter *tab) {
	word, _, err := y.web.doors.Invite(t.Context(), "Marta")
	if err != nil {
		t.Fatal(err)
	}
	manager.open("/")
	manager.sees("h1", "Sign in")
	manager.fits()
	manager.do(chromedp.Navigate(manager.base + "/welcome?word=" + url.QueryEscape(word)))
	manager.sees("main", "This invitation is for Marta")
	manager.fits()
	manager.fill("input[name='password']", "boat stone apple cloud")
	manager.press("button.main")
	manager.sees(".said", "Your password is set")
	manager.sees(".whois", "Marta, manager")
	manager.fits()
	manager.open("/people")
	manager.sees("tbody", "signed in on 1 device", "has no password yet")
	manager.press("tr:nth-of-type(2) form[action='/people/invite'] button")
	manager.sees(".once", "The invitation of Ines")
	manager.fits()

	painter.do(chromedp.Navigate(manager.text(".once .word")))
	painter.fill("input[name='password']", "gull ladder seven blue")
	painter.press("button.main")
	painter.sees(".whois", "Ines, painter")
	if links := painter.texts(".menu a[href='/people'], .menu a[href='/changes']"); len(links) > 0 {
		t.Errorf("a painter is offered %q", links)
	}
	painter.open("/place/booth 1")
	if n := painter.count("input[name='by']"); n > 0 {
		t.Errorf("%d fields ask for a name that is known", n)
	}
	for field, value := range map[string]string{"surface": "18.5 C", "instrument": "probe 2, blue tape"} {
		painter.fill("form.reading input[name='"+field+"']", value)
	}
	// Her session ends by another hand while she types.
	if err := endSessions(t, y); err != nil {
		t.Fatal(err)
	}
	painter.press("form.reading button.main")
	painter.sees("main", "What you typed is kept here", "probe 2, blue tape")
	painter.fits()
	painter.fill("input[name='password']", "gull ladder seven blue")
	painter.press("form.signin button.main")
	painter.sees("main", "nothing was sent yet")
	painter.fits()
	if got := painter.value("input[name='instrument']"); got != "probe 2, blue tape" {
		t.Errorf("the instrument came back as %q", got)
	}
	if n := painter.count("form.signin input[type='password']"); n > 0 {
		t.Error("a password came back")
	}
	painter.press("form.signin button.main")
	painter.sees(".said", "Reading kept")

	manager.open("/changes")
	manager.sees("tbody tr", "Reading", "Ines", "painter")
	manager.fits()
	manager.open("/tokens")
	manager.fill("input[name='name']", "booth gateway")
	manager.press("input[value='readings']")
	manager.press("form.signin button.main")
	manager.sees(".once", "It is shown only now")
	manager.fits()
	manager.press("form[action='/tokens/revoke'] button")
	manager.sees("tbody", "revoked")
	manager.open("/you")
	manager.press("form[action='/signout'] button")
	manager.sees(".said", "You are signed out")
	manager.open("/people")
	manager.sees("h1", "Sign in")
}

// endSessions ends all of the painter's, as when she signs out everywhere on another device.
func endSessions(t *testing.T, y *playedYard) error {
	t.Helper()
	other, err := y.web.doors.SignIn(t.Context(), "Ines", "gull ladder seven blue")
	if err != nil {
		return err
	}
	return y.web.doors.SignOut(t.Context(), other, true)
}
