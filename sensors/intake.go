package sensors

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fairwindow/config"
)

// Intake takes readings in: it runs Check on each, which the transports leave to
// it since it knows the readings before. It returns nil only after they are on
// disk; until then a transport acknowledges nothing and will offer them again,
// so an Intake must know a reading's Key when it meets it twice.
type Intake func(ctx context.Context, readings []Reading) error

// ForecastIntake takes a forecast in together with the document it was made
// of. It returns nil only after both are on disk.
type ForecastIntake func(ctx context.Context, d Document, f Forecast) error

// Message is what a device sent, as it came.
type Message struct {
	Topic    string
	Payload  []byte
	Received time.Time
	// Sequence is the transport's own number of the message, if it has one that
	// a resend repeats; it takes the place of a device time in the reading's Key.
	Sequence string
	// Where is its place in a file, such as logger.csv:12, which its doubts name; Broken is
	// why it is no message at all, where its transport knows.
	Where, Broken string
	// Again says that the broker may have delivered it before, Kept that it kept it
	// for whoever comes later. Either makes what has no time of its own doubtful.
	Again, Kept bool
}

// Decode makes readings of a message, in the way a sensor of the yard file
// says. Times without a zone are on the zone's wall clock. It never fails: what
// cannot be read comes back as a Reading flagged Unreadable that keeps the
// message. Package payload has the one.
type Decode func(s config.Sensor, m Message, zone *time.Location) []Reading

// Document is a forecast as it came.
type Document struct {
	Source   string // the forecast's name in the yard file
	Format   string // csv, open-meteo, gridpoint, locationforecast
	Body     []byte
	Received time.Time
	Zone     *time.Location // for times without a zone
}

// Parse makes a forecast of a document. Package forecast has the one.
type Parse func(d Document) (Forecast, error)

// unnamed is what is wrong with a document, without the name of its source, for those
// who say it themselves.
func unnamed(source string, err error) error {
	return errors.New(strings.TrimPrefix(err.Error(), "forecast "+source+": "))
}

// zones finds the zone of each sensor's times: its own, else the yard's.
func zones(sensors []config.Sensor, yard *time.Location) (map[string]*time.Location, error) {
	found := map[string]*time.Location{}
	for _, s := range sensors {
		found[s.Name] = yard
		if s.Zone == "" {
			continue
		}
		own, err := time.LoadLocation(s.Zone)
		if err != nil {
			return nil, fmt.Errorf("sensor %s: zone %q is not known; write an IANA name like Europe/Lisbon", s.Name, s.Zone)
		}
		found[s.Name] = own
	}
	return found, nil
}
