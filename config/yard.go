// Package config is what the yard wrote down: the yard itself, its places,
// crews, cards, profiles and systems, and the boats it took in. It is plain
// data with its checks; package file reads and writes it.
package config

import (
	"time"

	"fairwindow/conditions/unit"
)

// Yard is one site, as its yard file describes it.
type Yard struct {
	Name      string                    `yaml:"yard" json:"yard"`
	Zone      string                    `yaml:"zone" json:"zone"` // IANA, such as Europe/Lisbon
	Latitude  float64                   `yaml:"latitude" json:"latitude"`
	Longitude float64                   `yaml:"longitude" json:"longitude"`
	Elevation unit.Written[unit.Length] `yaml:"elevation,omitempty" json:"elevation,omitempty"`
	Units     string                    `yaml:"units,omitempty" json:"units,omitempty"` // SI or US, for people

	Listen     string     `yaml:"listen,omitempty" json:"listen,omitempty"` // the pages' address
	Bus        Bus        `yaml:"bus,omitempty" json:"bus,omitempty"`
	Confidence Confidence `yaml:"confidence,omitempty" json:"confidence,omitempty"`
	Notice     Noticing   `yaml:"notices,omitempty" json:"notices,omitempty"`
	Release    string     `yaml:"release,omitempty" json:"release,omitempty"` // by hand, or auto
	Keep       Keep       `yaml:"keep,omitempty" json:"keep,omitempty"`
	Weights    Weights    `yaml:"weights,omitempty" json:"weights,omitempty"`
	Limits     Limits     `yaml:"limits,omitempty" json:"limits,omitempty"`   // the yard's own, on top of any card
	Profile    string     `yaml:"profile,omitempty" json:"profile,omitempty"` // used where a card is silent
	// PaintStore is the temperature at which paint is kept, for limits on the paint's own.
	PaintStore unit.Written[unit.Temperature] `yaml:"paint_store,omitempty" json:"paint_store,omitempty"`

	Places    []Place     `yaml:"places" json:"places"`
	Crews     []Crew      `yaml:"crews" json:"crews"`
	Equipment []Equipment `yaml:"equipment,omitempty" json:"equipment,omitempty"`
	Closures  []Closure   `yaml:"closures,omitempty" json:"closures,omitempty"`
	Profiles  []Profile   `yaml:"profiles,omitempty" json:"profiles,omitempty"`
	Cards     []Card      `yaml:"cards" json:"cards"`
	Systems   []System    `yaml:"systems" json:"systems"`
	Checklist Checklist   `yaml:"checklist,omitempty" json:"checklist,omitempty"` // before a stage of a kind is started
	Season    []Month     `yaml:"season,omitempty" json:"season,omitempty"`
	Records   string      `yaml:"records,omitempty" json:"records,omitempty"`                 // a file of the site's weather, for the season by day and hour
	Station   string      `yaml:"records_station,omitempty" json:"records_station,omitempty"` // which of several in it; default the first
	Brokers   []Broker    `yaml:"brokers,omitempty" json:"brokers,omitempty"`
	Sensors   []Sensor    `yaml:"sensors,omitempty" json:"sensors,omitempty"`
	Forecasts []Forecast  `yaml:"forecasts,omitempty" json:"forecasts,omitempty"`
	People    []Person    `yaml:"people,omitempty" json:"people,omitempty"`
	SignIn    SignIn      `yaml:"sign_in,omitempty" json:"sign_in,omitzero"`
	Mail      Mail        `yaml:"mail,omitempty" json:"mail,omitzero"`
	Rates     *Rates      `yaml:"rates,omitempty" json:"rates,omitempty"`       // what waiting costs; none: no money anywhere
	LostDay   *LostDay    `yaml:"lost_day,omitempty" json:"lost_day,omitempty"` // when a day counts as lost to the weather; none: no statement

	// located is the zone as it was read with the yard: a page of forty boats asks for it
	// two hundred times, and each time would read a file.
	located *time.Location
}

// Confidence is how sure is sure: the least chance that a span holds.
type Confidence struct {
	Start  unit.Written[unit.Share] `yaml:"start,omitempty" json:"start,omitempty"`   // to announce a pass as open
	Plan   unit.Written[unit.Share] `yaml:"plan,omitempty" json:"plan,omitempty"`     // to plan a stage as firm
	Pencil unit.Written[unit.Share] `yaml:"pencil,omitempty" json:"pencil,omitempty"` // to pencil one in beyond the forecast
}

// Noticing is how far ahead people hear, and how much a plan may still move.
type Noticing struct {
	Ahead  unit.Duration `yaml:"ahead,omitempty" json:"ahead,omitempty"`   // stages that start this soon are announced
	Frozen unit.Duration `yaml:"frozen,omitempty" json:"frozen,omitempty"` // stages that start this soon are not moved
	Stale  unit.Duration `yaml:"stale,omitempty" json:"stale,omitempty"`   // a reading older than this is no reading
}

// Keep is the retention of the store.
type Keep struct {
	Readings unit.Duration `yaml:"readings,omitempty" json:"readings,omitempty"`
	Hours    unit.Duration `yaml:"hours,omitempty" json:"hours,omitempty"` // hourly sums of readings; none: for good
	Plans    unit.Duration `yaml:"plans,omitempty" json:"plans,omitempty"`
	Warranty Lasting       `yaml:"warranty,omitempty" json:"warranty,omitempty"` // evidence behind a pass, after launch, or forever
}

// Weights turn the parts of the planner's objective into cost-minutes.
type Weights struct {
	Lateness float64 `yaml:"lateness,omitempty" json:"lateness,omitempty"` // per minute of a late launch
	Spoiling float64 `yaml:"spoiling,omitempty" json:"spoiling,omitempty"` // per minute of likely rework
	Repair   float64 `yaml:"repair,omitempty" json:"repair,omitempty"`     // per minute of planned repair work
	Holding  float64 `yaml:"holding,omitempty" json:"holding,omitempty"`   // per minute a booth is held
	Waiting  float64 `yaml:"waiting,omitempty" json:"waiting,omitempty"`   // per minute until a boat may be launched, late or not
	Moving   float64 `yaml:"moving,omitempty" json:"moving,omitempty"`     // each time a boat is moved
	Change   float64 `yaml:"change,omitempty" json:"change,omitempty"`     // per minute a told start moves
}

// PlaceKind is what a place does to the air in it.
type PlaceKind string

// The kinds of place.
const (
	Booth    PlaceKind = "booth"    // enclosed, own air
	Shed     PlaceKind = "shed"     // roofed, follows the weather
	Tent     PlaceKind = "tent"     // cover on a slip
	Slip     PlaceKind = "slip"     // outdoors
	Standing PlaceKind = "standing" // waiting only
)

// Place is where a boat stands.
type Place struct {
	Name   string                    `yaml:"name" json:"name"`
	Kind   PlaceKind                 `yaml:"kind" json:"kind"`
	Length unit.Written[unit.Length] `yaml:"length" json:"length"`
	Width  unit.Written[unit.Length] `yaml:"width" json:"width"`
	Height unit.Written[unit.Length] `yaml:"height,omitempty" json:"height,omitempty"` // none: open to the sky
	Boats  int                       `yaml:"boats,omitempty" json:"boats,omitempty"`   // how many at once; default 1
	Air    string                    `yaml:"air,omitempty" json:"air,omitempty"`       // places with one name share their air
	Move   unit.Duration             `yaml:"move,omitempty" json:"move,omitempty"`     // to bring a boat in
	Lift   string                    `yaml:"lift,omitempty" json:"lift,omitempty"`     // the equipment that takes a boat in and out
	Limits Limits                    `yaml:"limits,omitempty" json:"limits,omitempty"`
	Booth  *BoothAir                 `yaml:"booth,omitempty" json:"booth,omitempty"` // a booth's plant
	// Dehumidifier dries the air under a roof without a plant.
	Dehumidifier *Dehumidifier `yaml:"dehumidifier,omitempty" json:"dehumidifier,omitempty"`
	// Heading is the way the bow of a boat points here, degrees from north over east.
	Heading float64 `yaml:"heading,omitempty" json:"heading,omitempty"`
	// Sun is the part of the sun that reaches a hull here: less than all of it beside
	// a neighbour, some of it under a film, none under a roof.
	Sun *unit.Written[unit.Share] `yaml:"sun,omitempty" json:"sun,omitempty"`
	// Lag is the time in which a hull takes up 63 % of a change of this place's air,
	// where the yard has measured it; without it the hull's skin says.
	Lag unit.Duration `yaml:"hull_lag,omitempty" json:"hull_lag,omitempty"`
}

// BoothAir is a booth's plant.
type BoothAir struct {
	Heater   unit.Written[unit.Power]       `yaml:"heater" json:"heater"`
	Spraying unit.Written[unit.Flow]        `yaml:"spraying_flow" json:"spraying_flow"` // all of it from outdoors
	Curing   unit.Written[unit.Flow]        `yaml:"curing_flow" json:"curing_flow"`     // fresh air while curing
	SetPoint unit.Written[unit.Temperature] `yaml:"set_point" json:"set_point"`
	Dehumid  unit.Written[unit.WaterRate]   `yaml:"dehumidifier,omitempty" json:"dehumidifier,omitempty"` // while curing
	// DownTo is the humidity at which the dehumidifier stops, where it has a humidistat.
	DownTo unit.Written[unit.Humidity] `yaml:"dehumidifier_stops,omitempty" json:"dehumidifier_stops,omitempty"`
	// Leaks is the outdoor air that comes in through the fabric while nothing is sprayed,
	// Loses the heat that goes through walls and roof: as fitted to readings, or none.
	Leaks     unit.Written[unit.Flow]        `yaml:"leaks,omitempty" json:"leaks,omitempty"`
	Loses     unit.Written[unit.Conductance] `yaml:"loses,omitempty" json:"loses,omitempty"`
	Clearance unit.Duration                  `yaml:"clearance" json:"clearance"` // after spraying, nobody unmasked
	// Filters is the greatest pressure across the exhaust filters at which they are
	// still good, where a gauge reads it.
	Filters unit.Written[unit.Pressure] `yaml:"filter_limit,omitempty" json:"filter_limit,omitempty"`
}

// Dehumidifier is one that stands in a shed or under a tent, its sides and doors shut.
type Dehumidifier struct {
	Takes  unit.Written[unit.WaterRate] `yaml:"takes" json:"takes"`
	Leaks  unit.Written[unit.Flow]      `yaml:"leaks" json:"leaks"`                     // the outdoor air that comes in all the same
	DownTo unit.Written[unit.Humidity]  `yaml:"stops,omitempty" json:"stops,omitempty"` // at which it stops
}

// Crew is people who work one shift together.
type Crew struct {
	Name   string   `yaml:"name" json:"name"`
	Skills []string `yaml:"skills" json:"skills"`
	People int      `yaml:"people" json:"people"`
	Shifts []Shift  `yaml:"shifts" json:"shifts"`
}

// Shift recurs: it starts whenever the cron expression says, on the yard's
// wall clock, and lasts Length of elapsed time.
type Shift struct {
	Starts string        `yaml:"starts" json:"starts"` // five fields: minute hour day month weekday
	Length unit.Duration `yaml:"length" json:"length"`
}

// Equipment is what the yard has a number of and lends to one job after another:
// a lift, a compressor, an air line.
type Equipment struct {
	Name  string  `yaml:"name" json:"name"`
	Count int     `yaml:"count" json:"count"`
	Hours []Shift `yaml:"hours,omitempty" json:"hours,omitempty"` // none: at any time
}

// Closure shuts a place, a crew, all of one equipment or (none named) the yard,
// once or by rule.
type Closure struct {
	Place     string        `yaml:"place,omitempty" json:"place,omitempty"`
	Crew      string        `yaml:"crew,omitempty" json:"crew,omitempty"`
	Equipment string        `yaml:"equipment,omitempty" json:"equipment,omitempty"`
	Starts    string        `yaml:"starts,omitempty" json:"starts,omitempty"` // cron expression
	Length    unit.Duration `yaml:"length,omitempty" json:"length,omitempty"` // with Starts
	From      string        `yaml:"from,omitempty" json:"from,omitempty"`     // 2026-12-24 or 2026-12-24 12:00, yard time
	To        string        `yaml:"to,omitempty" json:"to,omitempty"`         // with From; a bare day is included
	Why       string        `yaml:"why" json:"why"`
}

// Month is the season: the usual weather of one month, for planning beyond the forecast.
type Month struct {
	Month     int                            `yaml:"month" json:"month"` // 1 to 12
	Air       unit.Written[unit.Temperature] `yaml:"air" json:"air"`     // mean
	Swing     unit.Written[unit.TempDiff]    `yaml:"swing" json:"swing"` // mean daily maximum less minimum
	DewPoint  unit.Written[unit.Temperature] `yaml:"dew_point" json:"dew_point"`
	Scatter   unit.Written[unit.TempDiff]    `yaml:"scatter" json:"scatter"` // standard deviation of daily means
	Wind      unit.Written[unit.Speed]       `yaml:"wind" json:"wind"`
	RainHours unit.Written[unit.Share]       `yaml:"rain_hours" json:"rain_hours"` // share of hours with rain
}
