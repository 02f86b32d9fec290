#include "answers.h"

#include "slipglass/text.h"

namespace slipglass {

Response plainly(int status, const std::string& line)
{
    Response response;
    response.status = status;
    response.body = line + "\n";
    return response;
}

Response nothingThere()
{
    return plainly(404, "Not found.");
}

Response somethingWentWrong()
{
    return plainly(500, "Something went wrong on the computer that serves this.");
}

std::map<std::string, std::string> headersOf(const Response& response)
{
    std::map<std::string, std::string> headers{
        {"content-security-policy",
         "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
        {"cache-control", "no-store"}};
    for (const auto& [name, value] : response.headers) headers[inSmall(name)] = value;
    headers["content-type"] = response.type;
    headers["x-content-type-options"] = "nosniff";
    headers["referrer-policy"] = "no-referrer";
    headers["cross-origin-resource-policy"] = "same-origin";
    headers["x-frame-options"] = "DENY";
    return headers;
}

}  // namespace slipglass
