//! Admission of requests: only from this computer's own page, only for existing paths, only up to a size.

/// Largest body of a request (bytes): a curve file of the most rows a reader takes, with room.
pub const MOST_BODY: usize = 8 * 1024 * 1024;

/// The head of a request, as far as it matters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Head {
    /// method as sent
    pub method: String,
    /// path without what follows `?`
    pub path: String,
    /// `Host`
    pub host: Option<String>,
    /// `Origin`
    pub origin: Option<String>,
    /// `Sec-Fetch-Site`
    pub fetch_site: Option<String>,
    /// `Content-Type`
    pub content_type: Option<String>,
    /// `Content-Length`
    pub content_length: Option<usize>,
}

/// Why a request is refused: status and words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Refusal {
    /// HTTP status (RFC 9110)
    pub status: u16,
    /// message
    pub message: String,
}

/// Whether a request may be answered by the page served on `port`.
///
/// A page of another site can send requests to this computer, and a name of its own can be made to point here: the first
/// shows in `Origin` and `Sec-Fetch-Site` (Fetch standard), the second in `Host`.
pub fn admit(head: &Head, port: u16) -> Result<(), Refusal> {
    let refuse = |status: u16, message: &str| Err(Refusal { status, message: message.to_owned() });
    let own = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    match &head.host {
        Some(host) if own.iter().any(|name| host.eq_ignore_ascii_case(name)) => {}
        _ => return refuse(421, "this page answers only under 127.0.0.1 or localhost, with its port"),
    }
    if let Some(origin) = &head.origin
        && !own.iter().any(|name| origin.eq_ignore_ascii_case(&format!("http://{name}")))
    {
        return refuse(403, "another site asked; this page answers only itself");
    }
    if let Some(site) = &head.fetch_site
        && site != "same-origin"
        // an address typed or a bookmark is nobody's request but the user's
        && !(site == "none" && head.method == "GET")
        // a link from elsewhere may open the page, not call it
        && !(head.method == "GET" && head.path == "/")
    {
        return refuse(403, "another site asked; this page answers only itself");
    }
    if head.method == "POST" {
        let plain = head.content_type.as_deref().unwrap_or_default();
        let kind = plain.split(';').next().unwrap_or_default().trim();
        // kinds that a plain form of another site cannot send
        if kind != "application/json" && kind != "application/octet-stream" {
            return refuse(415, "expected a body of application/json or application/octet-stream");
        }
        match head.content_length {
            None => return refuse(411, "expected a Content-Length"),
            Some(length) if length > MOST_BODY => {
                return refuse(413, &format!("{length} bytes are more than the {MOST_BODY} this page takes"));
            }
            Some(_) => {}
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(method: &str, path: &str) -> Head {
        Head {
            method: method.to_owned(),
            path: path.to_owned(),
            host: Some("127.0.0.1:8717".to_owned()),
            content_type: Some("application/json".to_owned()),
            content_length: Some(2),
            ..Head::default()
        }
    }

    fn status(head: &Head) -> u16 {
        admit(head, 8717).err().map_or(200, |refusal| refusal.status)
    }

    #[test]
    fn the_page_itself_is_let_in() {
        assert_eq!(status(&head("GET", "/")), 200);
        let mut own = head("POST", "/draft");
        own.origin = Some("http://localhost:8717".to_owned());
        own.host = Some("LOCALHOST:8717".to_owned());
        own.fetch_site = Some("same-origin".to_owned());
        assert_eq!(status(&own), 200);
        // a program without a browser sends neither
        assert_eq!(status(&head("POST", "/draft")), 200);
    }

    #[test]
    fn a_name_that_was_made_to_point_here_is_refused() {
        for host in [None, Some("evil.example"), Some("evil.example:8717"), Some("127.0.0.1:80"), Some("")] {
            let mut wrong = head("GET", "/");
            wrong.host = host.map(str::to_owned);
            assert_eq!(status(&wrong), 421, "{host:?}");
        }
    }

    #[test]
    fn another_site_is_refused() {
        for origin in ["http://evil.example", "null", "https://127.0.0.1:8717", "http://127.0.0.1:8718", ""] {
            let mut wrong = head("POST", "/draft");
            wrong.origin = Some(origin.to_owned());
            assert_eq!(status(&wrong), 403, "{origin:?}");
        }
        for site in ["cross-site", "same-site", "none"] {
            let mut wrong = head("POST", "/draft");
            wrong.fetch_site = Some(site.to_owned());
            assert_eq!(status(&wrong), 403, "{site}");
        }
        let mut link = head("GET", "/");
        link.fetch_site = Some("cross-site".to_owned());
        assert_eq!(status(&link), 200);
        link.path = "/opening".to_owned();
        assert_eq!(status(&link), 403);
    }

    #[test]
    fn bodies_are_of_a_kind_and_a_size() {
        let mut form = head("POST", "/draft");
        form.content_type = Some("text/plain".to_owned());
        assert_eq!(status(&form), 415);
        let mut giant = head("POST", "/draft");
        giant.content_length = Some(MOST_BODY + 1);
        assert_eq!(status(&giant), 413);
        giant.content_length = None;
        assert_eq!(status(&giant), 411);
    }
}
