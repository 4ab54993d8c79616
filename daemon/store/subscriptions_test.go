package store

import (
	"reflect"
	"testing"
	"time"
)

func TestSubscriptions(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	a := Subscription{Person: "Ines", Endpoint: "https://push.example/a", P256dh: "key", Auth: "secret", At: noon}
	b := Subscription{Person: "Ines", Endpoint: "https://push.example/b", P256dh: "key", Auth: "secret", At: noon.Add(time.Minute)}
	for _, one := range []Subscription{a, b, a} {
		if err := s.Subscribe(t.Context(), one); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Subscriptions(t.Context(), "Ines"); err != nil || !reflect.DeepEqual(got, []Subscription{a, b}) {
		t.Errorf("%+v, %v", got, err)
	}
	b.Person = "Rui" // one browser, another hand
	if err := s.Subscribe(t.Context(), b); err != nil {
		t.Fatal(err)
	}
	if err := s.Unsubscribe(t.Context(), a.Endpoint); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Subscriptions(t.Context(), "Ines"); err != nil || len(got) != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.Subscriptions(t.Context(), "Rui"); err != nil || len(got) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	if err := s.Subscribe(t.Context(), Subscription{Endpoint: "https://push.example/c"}); err == nil {
		t.Error("nobody's browser was taken")
	}
}
