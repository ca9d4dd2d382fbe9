from django.urls import path

from builds.accounts import account, aids, password_reset, preferences, signing_in, views

app_name = "accounts"
urlpatterns = [
    path("sign-in/", signing_in.sign_in, name="sign-in"),
    path("sign-in/code/", signing_in.code, name="second-factor-code"),
    path("sign-out/", signing_in.sign_out, name="sign-out"),
    path("account/", account.account, name="account"),
    path("account/password/", account.password, name="password"),
    path("account/address/", account.address, name="address"),
    path("account/address/send-link/", account.send_confirmation, name="send-confirmation"),
    path("account/address/confirm/<str:token>/", account.confirm_address, name="confirm-address"),
    path("account/second-factor/", account.switch_on, name="second-factor"),
    path("account/second-factor/off/", account.switch_off, name="second-factor-off"),
    path("account/devices/<int:pk>/sign-out/", account.sign_out_device, name="sign-out-device"),
    path("account/devices/sign-out-others/", account.sign_out_others, name="sign-out-others"),
    path("account/close/", account.close_account, name="close"),
    path("glossary/", views.glossary, name="glossary"),
    path("device/", aids.aids, name="aids"),
    path("safety/", views.safety, name="safety"),
    path("password/forgotten/", password_reset.forgotten, name="forgotten"),
    path("password/sent/", password_reset.forgotten_sent, name="forgotten-sent"),
    path("invitation/<str:token>/", views.invitation, name="invitation"),
    path("settings/", preferences.preferences, name="preferences"),
    path("meters/", views.meters, name="meters"),
    path("meters/<int:pk>/retire/", views.retire_meter, name="retire-meter"),
]
