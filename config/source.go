package config

import (
	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Sensor says how one instrument's messages become readings of a place or a boat.
type Sensor struct {
	Name  string `yaml:"name" json:"name"`
	Place string `yaml:"place,omitempty" json:"place,omitempty"` // a place's name, or "outdoors"
	Boat  string `yaml:"boat,omitempty" json:"boat,omitempty"`
	// One of: an MQTT topic, a subject, a file that grows; with neither it is posted by name.
	Topic  string `yaml:"topic,omitempty" json:"topic,omitempty"`
	Broker string `yaml:"broker,omitempty" json:"broker,omitempty"` // whose topic it is; default our own listener's
	// Subject is a NATS subject on the yard's bus.
	Subject string `yaml:"subject,omitempty" json:"subject,omitempty"`
	File    string `yaml:"file,omitempty" json:"file,omitempty"` // or a pattern: every file put into a folder
	// Modbus is where its registers are read.
	Modbus *Modbus `yaml:"modbus,omitempty" json:"modbus,omitempty"`
	// Time is the path or column of the device's own time; none: stamped at intake.
	Time string `yaml:"time,omitempty" json:"time,omitempty"`
	// Sequence is the path of the device's own count of its messages, by which one
	// that is sent again is known where there is no time.
	Sequence string                        `yaml:"sequence,omitempty" json:"sequence,omitempty"`
	Zone     string                        `yaml:"zone,omitempty" json:"zone,omitempty"` // for times without a zone; default the yard's
	Values   map[conditions.Variable]Field `yaml:"values" json:"values"`
	// Due is the day the calibration runs out, 2027-04-01; values after it are doubtful.
	Due string `yaml:"calibration_due,omitempty" json:"calibration_due,omitempty"`
	// CheckAfter is after how long in solvent vapour a humidity sensor must be held
	// against a hand instrument; none: never asked for.
	CheckAfter unit.Duration `yaml:"check_after,omitempty" json:"check_after,omitempty"`
	Every      unit.Duration `yaml:"every,omitempty" json:"every,omitempty"` // expected interval; silence of three is reported
}

// Field is where one value stands in a message: a path of keys into JSON with
// dots between (indoors.Temperature), a CSV column, or "" for a payload
// that is the number itself.
type Field struct {
	Path string `yaml:"path,omitempty" json:"path,omitempty"`
	Unit string `yaml:"unit,omitempty" json:"unit,omitempty"` // of the raw number; default the variable's own
	// Scale is multiplied first: 0.1 for a humidity sent tenfold. Default 1.
	Scale float64 `yaml:"scale,omitempty" json:"scale,omitempty"`
	// Of a Modbus instrument, instead of a path: the register's address, counted
	// from 0, what stands in it, and in which order.
	Register *int   `yaml:"register,omitempty" json:"register,omitempty"`
	Kind     string `yaml:"kind,omitempty" json:"kind,omitempty"`   // holding or input
	Type     string `yaml:"type,omitempty" json:"type,omitempty"`   // int16, uint16, int32, uint32, float32
	Words    string `yaml:"words,omitempty" json:"words,omitempty"` // of two registers: high first or low first
	Bytes    string `yaml:"bytes,omitempty" json:"bytes,omitempty"` // within a register, the same
}

// Broker is an MQTT broker that others run, from which some sensors' topics come.
type Broker struct {
	Name     string `yaml:"name" json:"name"`
	URL      string `yaml:"url" json:"url"` // mqtt://host:1883, or mqtts://host:8883 for TLS
	User     string `yaml:"user,omitempty" json:"user,omitempty"`
	Password string `yaml:"password_file,omitempty" json:"password_file,omitempty"` // a file
	CA       string `yaml:"ca,omitempty" json:"ca,omitempty"`                       // a file of certificates to trust; default the system's
	// Client is the name by which the broker keeps our messages while we are away:
	// always the same, and nobody else's. Default: made of the yard's name.
	Client string `yaml:"client,omitempty" json:"client,omitempty"`
}

// Outdoors is the place name of the weather station.
const Outdoors = "outdoors"

// Forecast is one source of forecasts.
type Forecast struct {
	Name   string        `yaml:"name" json:"name"`
	Format string        `yaml:"format" json:"format"` // csv, open-meteo, gridpoint, locationforecast
	Folder string        `yaml:"folder,omitempty" json:"folder,omitempty"`
	URL    string        `yaml:"url,omitempty" json:"url,omitempty"`
	Every  unit.Duration `yaml:"every,omitempty" json:"every,omitempty"`
	Stale  unit.Duration `yaml:"stale,omitempty" json:"stale,omitempty"` // older than this is no forecast; default 18 h
}
