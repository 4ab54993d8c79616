package config

import (
	"time"

	"fairwindow/conditions/unit"
)

// Person is somebody who is told. Everybody can read the page; the ways here go to him.
type Person struct {
	Name    string        `yaml:"name" json:"name"`
	Role    Role          `yaml:"role,omitempty" json:"role,omitempty"`   // what he may do on the pages, signed in
	Crews   []string      `yaml:"crews,omitempty" json:"crews,omitempty"` // his: changes of plan come before their shifts
	Hears   Hears         `yaml:"hears,omitempty" json:"hears,omitzero"`  // nothing named: all of it
	Quiet   []Shift       `yaml:"quiet,omitempty" json:"quiet,omitempty"` // hours in which only what can't wait reaches him
	Next    string        `yaml:"next,omitempty" json:"next,omitempty"`   // who is told what he has not heard in time
	After   unit.Duration `yaml:"after,omitempty" json:"after,omitempty"` // that time; default 15 min
	Mail    string        `yaml:"mail,omitempty" json:"mail,omitempty"`
	Webhook Webhook       `yaml:"webhook,omitempty" json:"webhook,omitzero"`
	Push    bool          `yaml:"push,omitempty" json:"push,omitempty"` // he may have his browser rung; he allows it on the notices page
}

// Hears says what a person wants to hear of. A list that names nothing leaves nothing
// out, nor does one about something that a notice does not speak of.
type Hears struct {
	Places []string `yaml:"places,omitempty" json:"places,omitempty"`
	Boats  []string `yaml:"boats,omitempty" json:"boats,omitempty"`
	Crews  []string `yaml:"crews,omitempty" json:"crews,omitempty"` // whose work it is about
	Kinds  []string `yaml:"kinds,omitempty" json:"kinds,omitempty"` // of notice
}

// Webhook is an address of another program.
type Webhook struct {
	URL    string `yaml:"url,omitempty" json:"url,omitempty"`
	Secret string `yaml:"secret_file,omitempty" json:"secret_file,omitempty"` // a file with the secret that signs what is sent
}

// Mail is the server that takes the yard's mail.
type Mail struct {
	Server   string `yaml:"server,omitempty" json:"server,omitempty"` // host:port
	From     string `yaml:"from,omitempty" json:"from,omitempty"`
	User     string `yaml:"user,omitempty" json:"user,omitempty"`
	Password string `yaml:"password_file,omitempty" json:"password_file,omitempty"`
	TLS      string `yaml:"tls,omitempty" json:"tls,omitempty"` // starttls, implicit or none; default starttls
}

// How mail is kept private on its way to the server.
const (
	StartTLS    = "starttls" // asked for, and nothing is sent without it
	ImplicitTLS = "implicit" // from the first byte
	NoTLS       = "none"     // for a server on this machine
)

// NoticeKinds are the words for what people are told of.
func NoticeKinds() []string {
	return []string{
		"window_opens", "window_closing", "window_closed", "window_lapsed", "window_shortened", "wet_coat_at_risk", "ready_to_sand",
		"recoat_opens", "recoat_last_call", "recoat_lapsed", "weekend_closes", "stage_moved", "stage_put_off", "stage_unconfirmed",
		"pot_life_over", "measure_now", "source_silent", "forecast_old", "booth_stopped",
	}
}

// Person finds a person by his name.
func (y Yard) Person(name string) (Person, bool) { return find(y.People, name, personName) }

func personName(p Person) string { return p.Name }

// QuietHours are a person's quiet hours within [from, to), those that meet as one span.
func (y Yard) QuietHours(p Person, from, to time.Time) ([]Span, error) {
	zone, err := y.Location()
	if err != nil {
		return nil, err
	}
	return recurring(p.Quiet, zone, from.UTC(), to.UTC())
}
