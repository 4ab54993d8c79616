package config

import "testing"

// Each role may what those before it may; a word that is no role may nothing.
func TestRolesRise(t *testing.T) {
	all := Roles()
	for i, r := range all {
		for j, other := range all {
			if r.AtLeast(other) != (i >= j) {
				t.Errorf("%s at least %s: %v", r, other, r.AtLeast(other))
			}
		}
		for _, none := range []Role{"", "admin", "Manager"} {
			if none.AtLeast(r) || none.AtLeast("") {
				t.Errorf("%q may what a %s may", none, r)
			}
		}
	}
}

// Who is named only to be told reads, once others have roles; a stranger is nobody.
func TestRoleOf(t *testing.T) {
	y := Yard{People: []Person{{Name: "Ines", Role: Manager}, {Name: "Rui"}}}
	if r, ok := y.RoleOf("Rui"); r != Viewer || !ok {
		t.Errorf("Rui: %q, %v", r, ok)
	}
	if r, ok := y.RoleOf("Ines"); r != Manager || !ok {
		t.Errorf("Ines: %q, %v", r, ok)
	}
	if r, ok := y.RoleOf("Nobody"); r != "" || ok {
		t.Errorf("Nobody: %q, %v", r, ok)
	}
	if (Yard{People: []Person{{Name: "Rui"}}}).SignsIn() || !y.SignsIn() {
		t.Error("people sign in where nobody has a role, or not where one has")
	}
}

// What is reached from this machine alone: 127.0.0.0/8 and ::1 are loopback by RFC 1122,
// 3.2.1.3, and RFC 4291, 2.5.3; all else may be reached by others.
func TestExposed(t *testing.T) {
	for address, want := range map[string]bool{
		"127.0.0.1:8450": false, "127.9.8.7:1": false, "[::1]:8450": false, "localhost:8450": false, "LOCALHOST:1": false,
		"0.0.0.0:8450": true, ":8450": true, "[::]:8450": true, "192.168.1.4:8450": true, "yard.example:80": true, "localhost.example:80": true,
		"[::ffff:127.0.0.1]:1": false, "[::ffff:10.0.0.1]:1": true,
	} {
		if Exposed(address) != want {
			t.Errorf("%s: %v", address, !want)
		}
	}
}
