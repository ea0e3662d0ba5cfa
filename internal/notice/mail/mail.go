package mail

import gomail "github.com/wneessen/go-mail"

// port is that of submission (RFC 6409).
const port = gomail.DefaultPortTLS
