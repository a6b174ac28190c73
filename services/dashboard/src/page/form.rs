//! Forms, which work without JavaScript; the page's module posts the same fields as JSON.

use maud::{Markup, html};

/// A form of one button: hidden fields, and what the button says.
pub(super) fn button(
    id: &str,
    action: &str,
    fields: &[(&str, &str)],
    class: &str,
    says: &Markup,
) -> Markup {
    html! {
        form.one action=(action) method="post" {
            @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
            button id=(id) class=(class) type="submit" { (says) }
        }
    }
}
