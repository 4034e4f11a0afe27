"""Forms for signing in and for people."""

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.validators import UnicodeUsernameValidator

from shared.access import ROLES
from shared.models import Person

ROLE_WORDS = [
    ("owner", "Owner: everything, settings and people too"),
    ("buyer", "Buyer: stock, jobs, buying and prices"),
    ("bench", "Bench: stock, jobs and the saw; no prices"),
]
assert [role for role, _ in ROLE_WORDS] == list(ROLES)


class SignInForm(forms.Form):
    """A sign-in name and a password."""

    username = forms.CharField(
        label="Sign-in name",
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    password = forms.CharField(
        max_length=256,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PersonForm(forms.Form):
    """What others call someone, and the role."""

    name = forms.CharField(
        label="Name",
        max_length=150,
        required=False,
        help_text="What others call them.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    role = forms.ChoiceField(choices=ROLE_WORDS, widget=forms.RadioSelect)


class NewPersonForm(PersonForm):
    """A new person: a sign-in name besides."""

    username = forms.CharField(
        label="Sign-in name",
        max_length=60,
        validators=[UnicodeUsernameValidator(message="Use letters, digits and . - _ @ + only, no spaces.")],
        help_text="Short and easy to type on a phone, as: ada.",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    field_order = ["username", "name", "role"]


class PasswordForm(forms.Form):
    """A password of one's own. The one in use is asked for unless a link has just signed the person in."""

    now = forms.CharField(
        label="Password in use now",
        max_length=256,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        label="New password",
        max_length=256,
        strip=False,
        help_text="At least 10 characters; a few words in a row are easy to keep in mind.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="New password again",
        max_length=256,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, person: Person, asked_for_old: bool, **options: Any) -> None:
        super().__init__(*args, **options)
        self.person = person
        if not asked_for_old:
            del self.fields["now"]

    def clean_now(self) -> str:
        now: str = self.cleaned_data["now"]
        if not self.person.check_password(now):
            raise forms.ValidationError("This is not the password in use.")
        return now

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        password_validation.validate_password(password, self.person)
        return password

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "password" in cleaned and "again" in cleaned and cleaned["password"] != cleaned["again"]:
            self.add_error("again", "The two new passwords differ. Type the same twice.")
        return cleaned
