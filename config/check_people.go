package config

import (
	"fmt"
	"net/mail"
	"net/url"
	"time"
)

// longestQuiet leaves a person some hours of each day in which he can be told.
const longestQuiet = 23 * time.Hour

func (c *checker) people() {
	named(c, "people", "name", "person", c.y.People, personName)
	for i, p := range c.y.People {
		path := fmt.Sprintf("people[%d]", i)
		c.referAll(path+".crews", "crew", p.Crews, names(c.y.Crews, crewName))
		c.referAll(path+".hears.places", "place", p.Hears.Places, append(names(c.y.Places, placeName), Outdoors))
		c.referAll(path+".hears.crews", "crew", p.Hears.Crews, names(c.y.Crews, crewName))
		c.referAll(path+".hears.kinds", "kind of notice", p.Hears.Kinds, NoticeKinds())
		for j, q := range p.Quiet {
			at := fmt.Sprintf("%s.quiet[%d]", path, j)
			c.recurs(at, q.Starts, q)
			if q.Length.Std() > longestQuiet {
				c.fault(at+".length", fmt.Sprintf("quiet hours of %s leave no time to tell %s anything", q.Length, p.Name), "write less than a day, like \"10 h\"")
			}
		}
		c.next(path, p)
		c.ways(path, p)
	}
	c.mail()
}

// referAll faults each of a list of names that is not among the known ones.
func (c *checker) referAll(path, noun string, all, known []string) {
	for i, name := range all {
		c.refers(fmt.Sprintf("%s[%d]", path, i), noun, name, known)
	}
}

// next checks to whom what a person does not hear goes on.
func (c *checker) next(path string, p Person) {
	c.atLeastZero(path+".after", p.After)
	if p.Next == "" {
		if p.After > 0 {
			c.fault(path+".after", "nobody is named to be told then", "write next: and a person's name, or leave after: out")
		}
		return
	}
	if !c.refers(path+".next", "person", p.Next, names(c.y.People, personName)) {
		return
	}
	seen := map[string]bool{}
	for at, ok := p, true; ok && at.Next != ""; at, ok = c.y.Person(at.Next) {
		if at.Next == p.Name {
			c.fault(path+".next", fmt.Sprintf("what %s does not hear comes back to %s", p.Name, p.Name), "let the last of them have no next:")
			return
		}
		if seen[at.Next] {
			return // a ring further on, which is faulted there
		}
		seen[at.Next] = true
	}
}

// ways checks how a person is reached.
func (c *checker) ways(path string, p Person) {
	if p.Mail != "" {
		c.mailbox(path+".mail", p.Mail)
		if c.y.Mail.Server == "" {
			c.fault(path+".mail", "the yard has no mail server to send by", "write mail: {server: host:587, from: …} for the yard")
		}
	}
	switch hook := p.Webhook; {
	case hook.URL != "":
		c.link(path+".webhook.url", hook.URL, "https", "http")
		if hook.Secret == "" {
			c.fault(path+".webhook", "nothing would prove that a message comes from this yard", "write secret_file: and the file that holds a secret of your own")
		}
	case hook.Secret != "":
		c.fault(path+".webhook", "a webhook has no address", "write url: https://…")
	}
	if p.Push && c.y.Mail.From == "" {
		c.fault(path+".push", "push services ask whom to write to if something goes wrong", "write mail: {from: …} for the yard; no server is needed for that")
	}
}

// mailbox faults what is no bare address of mail.
func (c *checker) mailbox(path, text string) {
	if a, err := mail.ParseAddress(text); err != nil || a.Name != "" || a.Address != text {
		c.fault(path, fmt.Sprintf("%q is no address of mail", text), "write it like office@yard.example")
	}
}

func (c *checker) mail() {
	m := c.y.Mail
	if m == (Mail{}) {
		return
	}
	if m.From == "" {
		c.fault("mail", "nobody is named as the sender", "write from: and an address of the yard's")
	} else {
		c.mailbox("mail.from", m.From)
	}
	c.oneOf("mail.tls", m.TLS, StartTLS, ImplicitTLS, NoTLS)
	host := ""
	if m.Server != "" {
		u, err := url.Parse("//" + m.Server)
		if err != nil || u.Host != m.Server || u.Hostname() == "" || u.Port() == "" {
			c.fault("mail.server", fmt.Sprintf("%q is no server to send mail by", m.Server), "write host:port, like mail.yard.example:587")
		} else {
			host = u.Hostname()
		}
	}
	switch {
	case m.User != "" && m.Password == "":
		c.fault("mail.user", "a user needs a password", "write password_file: and the file that holds it")
	case m.User == "" && m.Password != "":
		c.fault("mail.password_file", "nobody is named whose password it is", "write user:")
	case m.User != "" && m.TLS == NoTLS && !here(host):
		c.fault("mail.tls", "the password would cross the network for all to read", "use starttls or implicit")
	}
}
