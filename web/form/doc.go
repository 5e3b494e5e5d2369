// Package form is what the forms of the pages have in common: fields with label, hint and unit; what was wrong, beside
// its field or above the form; reading what was typed; and the key under which a form sent twice counts once.
package form
