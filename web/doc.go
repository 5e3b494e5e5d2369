// Package web shows the tool as pages: plain HTML that works without script, on a phone with gloves and on a desk, over one application.
//
// Routes, layout and headers stand here, the pages in page, what forms have in common in form. A handler decodes a form,
// calls the application, and renders a page or redirects. Input that cannot be used comes
// back on the same page with the status 422, the text as typed and each message beside its field. A form carries a
// random id, so that sending it twice does no harm. Requests that change something and come from another origin are
// refused. Pages ask nothing from any other host.
//
// It decides nothing: words come from text, drawings from figure, judgements from the application. What a person
// likes to see (units, look, name) lives in a cookie of their own device.
//
// References: HTTP semantics RFC 9110; cross-origin protection as in net/http.
package web
