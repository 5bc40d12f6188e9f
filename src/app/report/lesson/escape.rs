//! Any text as text of an HTML page.

/// The text with everything HTML would take for markup written otherwise.
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            letter => safe.push(letter),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_names() {
        assert_eq!(
            escaped("<b onload=\"x('&')\">"),
            "&lt;b onload=&quot;x(&#39;&amp;&#39;)&quot;&gt;"
        );
    }
}
