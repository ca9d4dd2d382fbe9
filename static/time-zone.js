// Tell the server which time zone the times of its pages are to be in.
"use strict";
(function () {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (zone && !document.cookie.includes("time-zone=" + zone)) {
    document.cookie = "time-zone=" + zone + "; path=/; max-age=31536000; samesite=lax";
  }
})();
