package bus

import "strings"

// topic turns the subject under which the server keeps a device message back into the topic it
// was published to. It undoes nats-server's conversion (mqtt.go, mqttToNATSSubjectConversion),
// read from left to right: "//" was a dot, "/." an empty level, and a dot alone a stroke.
func topic(subject string) string {
	var t strings.Builder
	t.Grow(len(subject))
	for i := 0; i < len(subject); i++ {
		switch c := subject[i]; {
		case c == '.':
			t.WriteByte('/')
		case c != '/':
			t.WriteByte(c)
		case i+1 < len(subject) && subject[i+1] == '.':
			t.WriteByte('/')
			i++
		case i+1 < len(subject) && subject[i+1] == '/':
			t.WriteByte('.')
			i++
		}
	}
	return t.String()
}
