#include "bacnet/bacnet.h"

/* Words for the standard's numbers: clause 21.  Units are those that Inward has a text for. */

const char *bacnet_unit_text(int code)
{
  static const struct {
    int code;
    const char *text;
  } units[] = {
      {29, "%RH"},   {30, "mm"},     {31, "m"},     {32, "in"},     {33, "ft"},      {118, "cm"},
      {53, "Pa"},    {54, "kPa"},    {55, "bar"},   {56, "psi"},    {58, "inH2O"},   {59, "mmHg"},
      {61, "inHg"},  {133, "hPa"},   {134, "mbar"}, {206, "mmH2O"}, {62, "degC"},    {63, "K"},
      {64, "degF"},  {74, "m/s"},    {75, "km/h"},  {76, "ft/s"},   {77, "fpm"},     {78, "mph"},
      {161, "mm/s"}, {163, "m/min"}, {84, "cfm"},   {85, "m3/s"},   {87, "L/s"},     {88, "L/min"},
      {89, "gpm"},   {135, "m3/h"},  {136, "L/h"},  {142, "ft3/s"}, {165, "m3/min"}, {191, "ft3/h"},
      {42, "kg/s"},  {43, "kg/min"}, {44, "kg/h"},  {45, "lb/min"}, {46, "lb/h"},    {119, "lb/s"},
      {154, "g/s"},  {27, "Hz"},     {129, "kHz"},  {104, "rpm"},   {131, "1/h"},    {100, "1/min"},
      {101, "1/s"},  {47, "W"},      {48, "kW"},    {19, "kWh"},    {71, "h"},       {72, "min"},
      {73, "s"},     {159, "ms"},    {28, "g/kg"},  {96, "ppm"},    {98, "%"},       {95, ""}};

  for (size_t i = 0; i < sizeof units / sizeof *units; i++)
    if (units[i].code == code)
      return units[i].text;
  return NULL;
}

const char *bacnet_reliability_name(int code)
{
  static const char *const names[] = {"no fault detected",
                                      "no sensor",
                                      "over range",
                                      "under range",
                                      "open loop",
                                      "shorted loop",
                                      "no output",
                                      "unreliable",
                                      "process error",
                                      "multi-state fault",
                                      "configuration error",
                                      NULL,
                                      "communication failure",
                                      "member fault",
                                      "monitored object fault",
                                      "tripped"};

  return code >= 0 && (size_t)code < sizeof names / sizeof *names ? names[code] : NULL;
}

const char *bacnet_reason_name(enum bacnet_kind kind, int reason)
{
  static const char *const rejects[] = {"other",
                                        "buffer overflow",
                                        "inconsistent parameters",
                                        "invalid parameter data type",
                                        "invalid tag",
                                        "missing required parameter",
                                        "parameter out of range",
                                        "too many arguments",
                                        "undefined enumeration",
                                        "unrecognized service"};
  static const char *const aborts[] = {"other",
                                       "buffer overflow",
                                       "invalid APDU in this state",
                                       "preempted by higher priority task",
                                       "segmentation not supported",
                                       "security error",
                                       "insufficient security",
                                       "window size out of range",
                                       "application exceeded reply time",
                                       "out of resources",
                                       "TSM timeout",
                                       "APDU too long"};
  bool reject = kind == BACNET_REJECT;
  size_t count = reject ? sizeof rejects / sizeof *rejects : sizeof aborts / sizeof *aborts;

  if (reason < 0 || (size_t)reason >= count)
    return NULL;
  return reject ? rejects[reason] : aborts[reason];
}

const char *bacnet_error_name(int error_code)
{
  static const struct {
    int code;
    const char *name;
  } errors[] = {{0, "other"},
                {3, "device busy"},
                {25, "operational problem"},
                {27, "read access denied"},
                {29, "service request denied"},
                {30, "timeout"},
                {31, "unknown object"},
                {32, "unknown property"},
                {42, "invalid array index"},
                {43, "COV subscription failed"},
                {44, "not a COV property"},
                {45, "optional functionality not supported"},
                {50, "property is not an array"},
                {72, "value not initialized"}};

  for (size_t i = 0; i < sizeof errors / sizeof *errors; i++)
    if (errors[i].code == error_code)
      return errors[i].name;
  return NULL;
}

const char *bacnet_object_type_name(int type)
{
  static const struct {
    int type;
    const char *name;
  } types[] = {{0, "analog-input"},
               {1, "analog-output"},
               {2, "analog-value"},
               {3, "binary-input"},
               {4, "binary-output"},
               {5, "binary-value"},
               {8, "device"},
               {13, "multi-state-input"},
               {14, "multi-state-output"},
               {19, "multi-state-value"},
               {20, "trend-log"}};

  for (size_t i = 0; i < sizeof types / sizeof *types; i++)
    if (types[i].type == type)
      return types[i].name;
  return NULL;
}
