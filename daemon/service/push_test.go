package service

import (
	"crypto/ecdh"
	"crypto/rand"
	"encoding/base64"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/sirupsen/logrus"
	logtest "github.com/sirupsen/logrus/hooks/test"

	"fairwindow/notify"
)

// A person allows her browser, and it is rung; when it takes its permission back it is forgotten,
// and the notice stays on the page.
func TestPush(t *testing.T) {
	t.Parallel()
	var rung, code atomic.Int32
	code.Store(http.StatusCreated)
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Content-Encoding") == "aes128gcm" && strings.HasPrefix(r.Header.Get("Authorization"), "vapid ") {
			rung.Add(1)
		}
		w.WriteHeader(int(code.Load()))
	}))
	defer service.Close()
	r := newRig(t, strings.Replace(yardText, "\nforecasts:", `
mail: {from: yard@yard.example}
people:
  - {name: Ines, push: true}
  - {name: Rui}
forecasts:`, 1))
	r.start()
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	b64 := base64.RawURLEncoding
	public, auth := b64.EncodeToString(key.PublicKey().Bytes()), b64.EncodeToString(make([]byte, 16))
	for _, bad := range [][4]string{
		{"Rui", service.URL, public, auth}, {"Nobody", service.URL, public, auth}, {"Ines", "ftp://x", public, auth},
		{"Ines", "http://push.example/x", public, auth}, {"Ines", service.URL, "AAAA", auth}, {"Ines", service.URL, public, "AAAA"},
	} {
		if err := r.svc.Subscribe(t.Context(), bad[0], bad[1], bad[2], bad[3]); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
	if key, err := r.svc.PushKey(); err != nil || len(key) != 87 { // 65 bytes
		t.Errorf("key %q, %v", key, err)
	}
	if err := r.svc.Subscribe(t.Context(), "Ines", service.URL+"/a", public, auth); err != nil {
		t.Fatal(err)
	}
	r.say(aboutOne(notify.WindowOpens, "first"))
	if rung.Load() != 1 {
		t.Fatalf("rung %d times, want once", rung.Load())
	}
	code.Store(http.StatusGone)
	r.say(aboutOne(notify.WindowClosed, "first"))
	left, err := r.svc.store.Subscriptions(t.Context(), "Ines")
	if rung.Load() != 2 || err != nil || len(left) != 0 {
		t.Errorf("rung %d times, %d browsers left, %v", rung.Load(), len(left), err)
	}
	r.say(aboutOne(notify.MeasureNow, "second"))
	if rung.Load() != 2 {
		t.Error("a browser that is gone was rung")
	}
}

// TestNobodyAllowedABrowser: that is no fault of anybody's. The log says it once and
// quietly however many letters there are, and the pages can name who it is.
func TestNobodyAllowedABrowser(t *testing.T) {
	t.Parallel()
	r := newRig(t, strings.Replace(yardText, "\nforecasts:", `
mail: {from: yard@yard.example}
people:
  - {name: Ines, push: true}
  - {name: Rui}
forecasts:`, 1))
	r.start()
	heard := new(logtest.Hook)
	r.svc.log.Logger.AddHook(heard)
	r.svc.log.Logger.SetLevel(logrus.DebugLevel)
	r.say(aboutOne(notify.WindowOpens, "first"))
	r.say(aboutOne(notify.WindowClosed, "first"))
	var told []string
	for _, e := range heard.AllEntries() {
		if e.Data["person"] == "Ines" {
			told = append(told, e.Level.String())
		}
	}
	if asJSON(t, told) != `["debug"]` {
		t.Errorf("the log told of her %s", asJSON(t, told))
	}
	if names, err := r.svc.Unrung(t.Context()); err != nil || asJSON(t, names) != `["Ines"]` {
		t.Errorf("%v, %v", names, err)
	}
}
