package push

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"fairwindow/notify"
)

var b64 = base64.RawURLEncoding

// opened decrypts a message as a browser does, by RFC 8291 section 3.4 and RFC 8188 section 2,
// with the standard library alone: the library that encrypts is another's.
func opened(key *ecdh.PrivateKey, auth, body []byte) ([]byte, error) {
	if len(body) < 21 || len(body) < 21+int(body[20]) {
		return nil, errors.New("no header")
	}
	salt, sender, sealed := body[:16], body[21:21+int(body[20])], body[21+int(body[20]):]
	public, err := ecdh.P256().NewPublicKey(sender)
	if err != nil {
		return nil, err
	}
	shared, err := key.ECDH(public)
	if err != nil {
		return nil, err
	}
	info := "WebPush: info\x00" + string(key.PublicKey().Bytes()) + string(sender)
	ikm, err := hkdf.Key(sha256.New, shared, auth, info, 32)
	if err != nil {
		return nil, err
	}
	secret, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, err
	}
	nonce, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(secret)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	padded, err := gcm.Open(nil, nonce, sealed, nil)
	if err != nil {
		return nil, err
	}
	text, ok := strings.CutSuffix(strings.TrimRight(string(padded), "\x00"), "\x02")
	if !ok {
		return nil, errors.New("no end of the last record")
	}
	return []byte(text), nil
}

// The example of RFC 8291, section 5 and appendix A, from memory: were a digit misremembered the
// authenticated cipher would refuse it.
func TestOpenedReadsTheStandardsExample(t *testing.T) {
	raw := func(s string) []byte {
		t.Helper()
		b, err := b64.DecodeString(s)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	key, err := ecdh.P256().NewPrivateKey(raw("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"))
	if err != nil {
		t.Fatal(err)
	}
	body := raw("DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN")
	text, err := opened(key, raw("BTBZMqHH6r4Tts7J_aSIgg"), body)
	if err != nil || string(text) != "When I grow up, I want to be a watermelon" {
		t.Errorf("%q, %v", text, err)
	}
}

func letter(sentence string) notify.Letter {
	n := notify.Notice{ID: "wet/1", Kind: notify.WetCoatAtRisk, Boat: "Petrel", Stage: "topcoat", Revision: 1}
	return notify.Letter{ID: "abc123", Person: "Ines", Items: []notify.Item{{Notice: n, Sentence: sentence}}}
}

func browser(t *testing.T, endpoint string) (Subscription, *ecdh.PrivateKey, []byte) {
	t.Helper()
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	auth := make([]byte, 16)
	_, _ = rand.Read(auth)
	return Subscription{Endpoint: endpoint, P256dh: b64.EncodeToString(key.PublicKey().Bytes()), Auth: b64.EncodeToString(auth)}, key, auth
}

func TestSend(t *testing.T) {
	var body []byte
	var header http.Header
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ = io.ReadAll(r.Body)
		header = r.Header
		w.WriteHeader(http.StatusCreated)
	}))
	defer service.Close()
	keys, err := LoadKeys(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	to, key, auth := browser(t, service.URL+"/browser/1")
	long := strings.Repeat("é", 3000)
	for _, sentence := range []string{"Wet topcoat on Petrel is at risk.", long} {
		if err := New(keys, "yard@yard.example").Send(t.Context(), to, letter(sentence)); err != nil {
			t.Fatal(err)
		}
		text, err := opened(key, auth, body)
		if err != nil {
			t.Fatal(err)
		}
		var got struct{ ID, Title, Body string }
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatal(err)
		}
		want := sentence
		if sentence == long {
			want = strings.Repeat("é", bodyMost/2) + "…"
		}
		if got.ID != "abc123" || got.Title != "Wet coat at risk: topcoat on Petrel" || got.Body != want {
			t.Errorf("got %.200q", text)
		}
		if len(body) > 4096 {
			t.Errorf("%d bytes, a push service need not take more than 4096 (RFC 8030, 7.2)", len(body))
		}
	}
	if header.Get("Content-Encoding") != "aes128gcm" || header.Get("TTL") != "43200" || header.Get("Urgency") != "high" {
		t.Errorf("header %v", header)
	}
	// RFC 8292: a token for this service, signed with the key that the browser was given.
	signed, public, ok := strings.Cut(strings.TrimPrefix(header.Get("Authorization"), "vapid t="), ", k=")
	if !ok || public != keys.Public {
		t.Fatalf("authorization %q", header.Get("Authorization"))
	}
	point, err := b64.DecodeString(public)
	if err != nil {
		t.Fatal(err)
	}
	claims := jwt.MapClaims{}
	if _, err := jwt.ParseWithClaims(signed, claims, func(*jwt.Token) (any, error) {
		return ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point)
	}, jwt.WithValidMethods([]string{"ES256"}), jwt.WithAudience(service.URL), jwt.WithExpirationRequired()); err != nil {
		t.Error(err)
	}
	if until, err := claims.GetExpirationTime(); err != nil || until.After(time.Now().Add(24*time.Hour)) || claims["sub"] != "mailto:yard@yard.example" {
		t.Errorf("claims %v, %v", claims, err)
	}
}

func TestAnswers(t *testing.T) {
	var code int
	service := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(code) }))
	defer service.Close()
	keys, err := LoadKeys(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	to, _, _ := browser(t, service.URL+"/secret")
	way := New(keys, "yard@yard.example")
	for _, tt := range []struct {
		code              int
		ok, forGood, gone bool
	}{{201, true, false, false}, {404, false, true, true}, {410, false, true, true}, {400, false, true, false}, {413, false, true, false}, {429, false, false, false}, {500, false, false, false}} {
		code = tt.code
		err := way.Send(t.Context(), to, letter("x"))
		if (err == nil) != tt.ok || errors.Is(err, notify.ErrRefused) != tt.forGood || errors.Is(err, ErrGone) != tt.gone {
			t.Errorf("%d: %v", tt.code, err)
		}
	}
	to.P256dh = "AAAA"
	if err := way.Send(t.Context(), to, letter("x")); !errors.Is(err, notify.ErrRefused) {
		t.Errorf("a key that is none: %v", err)
	}
	to, _, _ = browser(t, service.URL+"/secret")
	service.Close()
	if err := way.Send(t.Context(), to, letter("x")); err == nil || errors.Is(err, notify.ErrRefused) || strings.Contains(err.Error(), "secret") {
		t.Errorf("nobody there: %v", err)
	}
}

// The keys are the same after a restart, or every browser would have to be allowed anew; a broken
// file is not overwritten.
// A long letter is cut at a whole character, and no earlier than it must be.
func TestCut(t *testing.T) {
	for _, tt := range []struct {
		text string
		want int // bytes, of the text that is left
	}{
		{strings.Repeat("a", 2400), 2400}, {strings.Repeat("a", 2401), 2400}, {strings.Repeat("a", 9000), 2400},
		{"a" + strings.Repeat("é", 1200), 2399}, {strings.Repeat("é", 1201), 2400},
	} {
		left, isCut := strings.CutSuffix(cut(tt.text), "…")
		if len(left) != tt.want || isCut != (len(tt.text) > 2400) || !strings.HasPrefix(tt.text, left) {
			t.Errorf("of %d bytes %d are left, cut: %v; want %d", len(tt.text), len(left), isCut, tt.want)
		}
	}
}

// A file that holds half of the keys is said to be broken, and is not written over: browsers may
// be bound to the other half.
func TestHalfOfTheKeys(t *testing.T) {
	for _, text := range []string{`{"public": "x"}`, `{"private": "x"}`, `{}`, ``} {
		folder := t.TempDir()
		if err := os.WriteFile(filepath.Join(folder, keyFile), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if k, err := LoadKeys(folder); err == nil || !strings.Contains(err.Error(), "holds no keys") {
			t.Errorf("of %q: %v, %v", text, k, err)
		}
		if kept, err := os.ReadFile(filepath.Join(folder, keyFile)); err != nil || string(kept) != text {
			t.Errorf("of %q is left %q, %v", text, kept, err)
		}
	}
}

// Who asks for keys at the same time gets the same: a browser bound to others is never rung. No
// half of a file is left, nor anything else.
func TestLoadKeysAtOnce(t *testing.T) {
	for range 20 {
		folder := t.TempDir()
		var got [4]Keys
		var all sync.WaitGroup
		for i := range got {
			all.Go(func() {
				k, err := LoadKeys(folder)
				if err != nil {
					t.Error(err)
				}
				got[i] = k
			})
		}
		all.Wait()
		kept, err := LoadKeys(folder)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range got {
			if k != kept {
				t.Fatalf("one was given %s, and %s are kept", k.Public, kept.Public)
			}
		}
		left, err := os.ReadDir(folder)
		if err != nil || len(left) != 1 {
			t.Fatalf("left %v, %v", left, err)
		}
		if info, err := left[0].Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Fatalf("its mode is %v, %v", info.Mode(), err)
		}
	}
}

func TestLoadKeys(t *testing.T) {
	folder := t.TempDir()
	first, err := LoadKeys(folder)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := LoadKeys(folder); err != nil || again != first {
		t.Errorf("other keys: %v", err)
	}
	path := filepath.Join(folder, keyFile)
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
	if err := os.WriteFile(path, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := LoadKeys(folder); err == nil {
		t.Error("a broken file was taken")
	}
	if text, _ := os.ReadFile(path); string(text) != "{" {
		t.Error("a broken file was overwritten")
	}
}
