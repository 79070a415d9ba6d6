#include "serve/sheets_impl.h"

/* What a person can do on a list's page.  The script sends it; without one only the paper is left. */

static const char print_only[] =
    "<div class=\"forms row\"><button type=\"button\" id=\"print\">Print this list</button></div>\n";

static const char responder[] =
    "<form class=\"forms row\" id=\"print-form\"><label>who prints it? <input id=\"who\" maxlength=\"80\" "
    "required autocomplete=\"off\"></label><button type=\"submit\">Print this sheet</button>"
    "<p id=\"said\" role=\"status\"></p></form>\n";

static const char restart[] =
    "<section class=\"forms panel\" aria-label=\"What a person says\">\n"
    "<div class=\"row\"><label>who are you? <input id=\"who\" maxlength=\"80\" autocomplete=\"off\"></label>"
    "<label class=\"wide\">what was seen at the station <input id=\"seen\" maxlength=\"400\" "
    "autocomplete=\"off\"></label></div>\n"
    "<p id=\"said\" role=\"status\"></p>\n"
    "<div class=\"row\" role=\"group\" aria-label=\"All work stopped\"><span>All work stopped now:</span>"
    "<button type=\"button\" data-stop=\"power\">Power was lost</button>"
    "<button type=\"button\" data-stop=\"evacuation\">Everybody left: evacuation</button>"
    "<button type=\"button\" data-stop=\"gas\">Everybody left: gas</button>"
    "<button type=\"button\" id=\"print\">Print this list</button></div>\n"
    "<form id=\"reentry\" class=\"row\" hidden><label class=\"tick\"><input id=\"is-removed\" "
    "type=\"checkbox\" required> yes, the source was removed</label><label class=\"wide\">how "
    "<input id=\"removed\" required maxlength=\"400\" autocomplete=\"off\"></label>"
    "<label class=\"tick\"><input id=\"is-measured\" type=\"checkbox\" required> yes, it was "
    "measured</label><label class=\"wide\">what, where, with what <input id=\"measured\" required "
    "maxlength=\"400\" autocomplete=\"off\"></label><button type=\"submit\">I release it to go in</button>"
    "</form>\n</section>\n";

static const char handover[] =
    "<form class=\"forms row\" action=\"/handover\"><label>part <input name=\"of\" required "
    "maxlength=\"32\"></label><label>then, as 2026-10-26 14:10; empty: its newest alarm <input name=\"at\" "
    "maxlength=\"40\"></label><button type=\"submit\">Ask</button>"
    "<button type=\"button\" id=\"print\">Print this page</button></form>\n";

const char *lists_forms(enum lists_kind kind, bool live, bool kept)
{
  if (kind == LISTS_HANDOVER)
    return handover;
  if (kind == LISTS_RESPONDER && live && kept)
    return responder;
  return kind == LISTS_RESTART && live && kept ? restart : print_only;
}
