package signed

import (
	"context"
	"testing"
)

// A hand goes along with a context that no longer ends with its request, and only with its own.
func TestHandGoesAlong(t *testing.T) {
	h := Hand{By: "Ines", Role: "painter", Address: "10.0.0.7", Device: "phone", Through: "/boat/x/press"}
	request, end := context.WithCancel(With(t.Context(), h))
	kept := context.WithoutCancel(request)
	end()
	if got, ok := Of(kept); !ok || got != h {
		t.Errorf("%+v, %v", got, ok)
	}
	if _, ok := Of(t.Context()); ok {
		t.Error("a hand where nobody put one")
	}
}
