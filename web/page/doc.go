// Package page holds the pages: each file has the handlers of one of them and what its template shows, and the template
// stands beside it. A handler decodes a form, calls the application, and shows a page or redirects. Package web leads
// requests here and puts the layout round what is shown.
package page
