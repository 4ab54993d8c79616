package main

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/sirupsen/logrus"

	"fairwindow/config"
	"fairwindow/config/file"
)

// doored is a running daemon with people, and its yard file as the command line reads it.
func doored(t *testing.T) (url, yard, state string) {
	t.Helper()
	p := play{once: true, state: t.TempDir()}
	y, _, err := p.yard()
	if err != nil {
		t.Fatal(err)
	}
	y.People = []config.Person{{Name: "Marta", Role: config.Manager}, {Name: "Ines", Role: config.Painter}}
	log := logrus.New()
	log.SetOutput(io.Discard)
	st, err := openStage(t.Context(), &p, y, time.Date(2026, 4, 6, 9, 0, 0, 0, time.UTC), logrus.NewEntry(log), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.close(); err != nil {
			t.Error(err)
		}
	})
	text, _ := file.Starter()
	// As it is written where the pages are open to others; this machine reaches them here.
	listen := strings.TrimSuffix(strings.Replace(st.web.url, "http://127.0.0.1:", "0.0.0.0:", 1), "/")
	written := regexp.MustCompile(`(?m)^listen:.*$`).ReplaceAllString(string(text), "listen: "+listen) +
		"\npeople: [{name: Marta, role: manager}, {name: Ines, role: painter}]\n"
	yard = filepath.Join(t.TempDir(), yardName)
	if err := os.WriteFile(yard, []byte(written), 0o600); err != nil {
		t.Fatal(err)
	}
	return st.web.url, yard, p.state
}

func command(args ...string) (code int, out, talk string) {
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, o.String(), e.String()
}

// Who may read the state folder invites people and makes tokens; what is printed opens what it
// says, and nobody else gets it.
func TestInviteAndTokenAtTheCommandLine(t *testing.T) {
	at, yard, state := doored(t)
	code, out, talk := command("invite", yard, "ines", "--state", state)
	link := regexp.MustCompile(`http://\S+/welcome\?word=\S+`).FindString(out)
	if code != exitYes || !strings.HasPrefix(link, at) || !strings.Contains(out, "For Ines alone, until") {
		t.Fatalf("%d %q %q", code, out, talk)
	}
	browser := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	word := strings.SplitN(link, "word=", 2)[1]
	answer, err := browser.PostForm(at+"welcome", url.Values{"word": {word}, "password": {"gull ladder seven"}})
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusSeeOther || len(answer.Cookies()) == 0 {
		t.Errorf("the invitation opens with status %d", answer.StatusCode)
	}

	code, out, talk = command("token", yard, "office board", "--scope", "plan", "--scope", "metrics", "--state", state)
	if code != exitYes || len(strings.TrimSpace(out)) != 43 {
		t.Fatalf("%d %q %q", code, out, talk)
	}
	for path, want := range map[string]int{"metrics": 200, "v1/plan": 404, "v1/boats": 403, "v1/invitations": 403, "": 403} {
		method := http.MethodGet
		if path == "v1/invitations" {
			method = http.MethodPost
		}
		r, err := http.NewRequest(method, at+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Authorization", "Bearer "+strings.TrimSpace(out))
		answer, err := browser.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		answer.Body.Close()
		if answer.StatusCode != want { // 404: there is no plan yet
			t.Errorf("/%s with the token: status %d, want %d", path, answer.StatusCode, want)
		}
	}

	for _, tt := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"invite", yard, "Nobody", "--state", state}, exitNo, "nobody of the yard file"},
		{[]string{"invite", yard, "Ines", "--state", t.TempDir()}, exitUsage, "does not know this state folder's key"},
		{[]string{"token", yard, "x", "--scope", "everything", "--state", state}, exitUsage, "none of readings"},
		{[]string{"token", yard, "x", "--state", state}, exitUsage, "name it with --scope"},
		{[]string{"token", yard, "office board", "--scope", "plan", "--state", state}, exitNo, "already"},
	} {
		if code, out, talk := command(tt.args...); code != tt.code || out != "" || !strings.Contains(talk, tt.says) {
			t.Errorf("%v: %d %q %q", tt.args, code, out, talk)
		}
	}

	// The command line's boats need the key too.
	boats := filepath.Join(filepath.Dir(yard), boatsName)
	_, text := file.Starter()
	if err := os.WriteFile(boats, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, talk := command("boats", "import", yard, boats, "--state", t.TempDir()); code == exitYes || !strings.Contains(talk, "token") {
		t.Errorf("boats without the key: %d %q", code, talk)
	}
	if code, out, talk := command("boats", "import", yard, boats, "--state", state, "--by", "Marta"); code != exitYes || !strings.Contains(out, "took in") {
		t.Errorf("boats with the key: %d %q %q", code, out, talk)
	}
}

// A demo on an address that others reach is for people who sign in.
func TestDemoIsNotForStrangers(t *testing.T) {
	code, _, talk := command("demo", "--once", "--days", "1", "--listen", "0.0.0.0:0", "--state", t.TempDir())
	if code != exitUsage || !strings.Contains(talk, "--sign-in") {
		t.Errorf("%d %q", code, talk)
	}
}
