package bus

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairwindow/notify"
)

// event is a notice as it travels: CloudEvents 1.0 in its structured JSON mode
// (cloudevents/formats/json-format.md), with the names of the attributes as there.
type event struct {
	SpecVersion string `json:"specversion"`
	ID          string `json:"id"`     // the notice's id and its revision: unique with Source
	Source      string `json:"source"` // whose notice it is, of several yards on one bus
	Type        string `json:"type"`
	Subject     string `json:"subject,omitempty"` // boat/area/stage, else the place
	// Time is when the notice was issued.
	Time            time.Time `json:"time,omitzero"`
	DataContentType string    `json:"datacontenttype"`
	DataSchema      string    `json:"dataschema"`
	Data            told      `json:"data"`
}

// told is the notice with its sentence, as the yard's people read it.
type told struct {
	notify.Notice
	Sentence string `json:"sentence"`
}

const (
	specVersion = "1.0"
	contentType = "application/cloudevents+json" // of the message, in its header content-type
	dataType    = "application/json"             // of the data within
	typePrefix  = "fairwindow.notice."
	version     = "v1" // of the form of data; a field may be added within a version, none changed or taken away
)

// eventOf makes the event of a notice.
func eventOf(n notify.Notice, sentence, yard string) event {
	return event{
		SpecVersion: specVersion,
		ID:          messageID(n),
		Source:      source(yard),
		Type:        typePrefix + string(n.Kind) + "." + version,
		Subject:     about(n),
		Time:        n.At.UTC(),

		DataContentType: dataType,
		DataSchema:      SchemaID(n.Kind),
		Data:            told{n, sentence},
	}
}

// messageID tells one revision of one notice from all others of its yard.
func messageID(n notify.Notice) string { return n.ID + "." + strconv.Itoa(n.Revision) }

// source is a yard as a URI reference, which is what CloudEvents asks for.
func source(yard string) string { return "/yards/" + url.PathEscape(yard) }

// about is what a notice is about. Each part is escaped as in the notice's id: a stroke in a
// boat's name parts nothing, and no character is left that CloudEvents forbids in a string.
func about(n notify.Notice) string {
	if n.Boat == "" {
		return url.PathEscape(n.Place)
	}
	parts := []string{url.PathEscape(n.Boat)}
	for _, part := range []string{n.Area, n.Stage} {
		if part != "" {
			parts = append(parts, url.PathEscape(part))
		}
	}
	return strings.Join(parts, "/")
}

// decode reads a notice as it travels, and says what is missing of one that is none.
func decode(data []byte) (event, error) {
	var e event
	if err := json.Unmarshal(data, &e); err != nil {
		return event{}, err
	}
	switch {
	case e.SpecVersion != specVersion:
		return event{}, fmt.Errorf("it is no CloudEvent of version %s: specversion is %q", specVersion, e.SpecVersion)
	case !strings.HasPrefix(e.Type, typePrefix) || !strings.HasSuffix(e.Type, "."+version):
		return event{}, fmt.Errorf("its type %q is none that this program reads: %sKIND.%s", e.Type, typePrefix, version)
	case e.Data.ID == "":
		return event{}, errors.New("it has no data.id")
	}
	return e, nil
}
