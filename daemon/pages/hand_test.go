package pages

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
)

// TestHand: who changed what says whether a token or the command line did, and who sat there.
func TestHand(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, path, by, as string
		is                 who
	}{
		{"a gateway's token", "/v1/boats?by=Ines", "gateway", "token", who{machine: &door.Machine{Name: "gateway", Scopes: []door.Scope{door.Boats}}}},
		{"the command line", "/v1/boats?by=Ines", "Ines", "command line", who{machine: &door.Machine{Name: "the command line", Scopes: []door.Scope{door.Doors, door.Boats}}}},
		{"the command line, with no name", "/v1/invitations", "the command line", "command line", who{machine: &door.Machine{Name: "the command line", Scopes: []door.Scope{door.Doors}}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h, ok := signed.Of(letIn(httptest.NewRequest(http.MethodPost, tt.path, nil), tt.is).Context())
			line := changeLine(clock{zone: time.UTC}, signed.Line{Hand: h})
			if !ok || line.By != tt.by || line.As != tt.as {
				t.Errorf("by %q as %q, want by %q as %q", line.By, line.As, tt.by, tt.as)
			}
		})
	}
}
